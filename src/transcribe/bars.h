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
   @param lengths     Of the notes' sounds, in places.
*/
SrBars sr_bars_find(const SrPlayedNotes* played, SrGrid* grid, const long* lengths, int beats,
                    int unit);

/// Whether a meter can be written, and the kind of its pulse.
bool sr_bars_kind(int beats, int unit, SrPulseKind* kind);

#endif // SR_TRANSCRIBE_BARS_H
