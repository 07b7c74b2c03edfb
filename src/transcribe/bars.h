// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_BARS_H
#define SR_TRANSCRIBE_BARS_H

#include "quantise.h"

/// Where the bars are.
typedef struct {
  int beats; ///< Of the meter
  int unit;
  int quavers;       ///< In a bar
  int pulse_quavers; ///< In a pulse
  double sure;       ///< 0 to 1, among meters of this kind of pulse
  double nats;       ///< How well they explain the notes, as a log likelihood
} SrBars;

/**
   Find the meter and the bars, and move the notes' places so that bars begin at whole multiples of
   their length, the first at 0; after a break a new bar begins.

   @param played      The notes.
   @param beats, unit The meter, if it is known; 0 otherwise.
   @param upbeat_quavers Before the first whole bar; NAN if it is not known.
   @param lengths     Of the notes' sounds, in places.
*/
SrBars sr_bars_find(const SrPlayedNotes* played, SrGrid* grid, const long* lengths, int beats,
                    int unit, double upbeat_quavers);

/// From each place where a bar may begin to the next, in places.
long sr_bars_step(const SrBars* bars);
/// How well bars that begin at a place explain the notes up to the first break, as a log
/// likelihood.
double sr_bars_explain(const SrBars* bars, const SrGridNote* notes, const long* lengths,
                       size_t count, long from);

/// Whether a meter can be written, and the kind of its pulse.
bool sr_bars_kind(int beats, int unit, SrPulseKind* kind);

#endif // SR_TRANSCRIBE_BARS_H
