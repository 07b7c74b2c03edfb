// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_QUANTISE_H
#define SR_TRANSCRIBE_QUANTISE_H

#include "beam.h"

/// The grid of a take.
typedef struct {
  SrGridNote* notes; ///< One for each note played
  SrPulseKind kind;
  double quaver_s;    ///< The usual length of a quaver
  double onset_s;     ///< How far notes are from the grid, standard deviation
  double nats;        ///< Log likelihood
  double sure_quaver; ///< 0 to 1: how sure it is that a quaver is none of twice or half the length
  double other_quaver_s; ///< The next likely length; NAN without one
  SrGridWish wish;       ///< With which it was found
} SrGrid;

/// What the player knows of the time.
typedef struct {
  double pulse_s;        ///< NAN if unknown
  int pulse_quavers;     ///< Quavers in that pulse; 0 for as many as the kind has
  double upbeat_quavers; ///< Before the first whole bar; NAN if unknown
  double click_s;        ///< Time of a metronome's click, NAN without one
  double click_period_s; ///< From click to click
} SrGridKnown;

/// Lay the notes on a grid with one kind of pulse. SR_OK or SR_NO_MEMORY; free it with
/// sr_grid_clear().
SrStatus sr_grid_make(const SrPlayedNotes* played, const SrGridKnown* known, SrPulseKind kind,
                      SrGrid* grid);
void sr_grid_clear(SrGrid* grid);

#endif // SR_TRANSCRIBE_QUANTISE_H
