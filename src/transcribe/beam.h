// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file beam.h
   The most likely place of each note on a grid that follows the tempo.
*/

#ifndef SR_TRANSCRIBE_BEAM_H
#define SR_TRANSCRIBE_BEAM_H

#include "steps.h"

#include <steadyreed/transcribe.h>

/// Any place of the pulse.
#define SR_ANY_PLACE (-1)

/// What is taken for granted about the grid.
typedef struct {
  SrPulseKind kind;
  double quaver_s;       ///< To begin with
  double quaver_share;   ///< Its standard deviation, as a share of it
  double onset_s;        ///< Standard deviation of an onset from the grid
  double lilt[4];        ///< How late the notes on each quaver of the pulse are, in quavers
  int begin;             ///< Place of the pulse of the first note; SR_ANY_PLACE if unknown
  double click_s;        ///< Time of a click, NAN without one
  double click_period_s; ///< From click to click
  double click_quavers;  ///< Quavers from click to click
} SrGridWish;

/// Where a note lies.
typedef struct {
  long place;      ///< From the start of the take, SR_PLACES to a quaver
  double late_s;   ///< Behind where the notes before it lead to expect it
  double variance; ///< Of that expectation, s²
  double quaver_s; ///< A quaver's length there
  bool is_grace;   ///< It is a long grace of the next note, and has no place of its own
  bool breaks;     ///< The grid begins again with it
} SrGridNote;

/**
   Find the places.

   @param notes Receives one for each note played.
   @param nats  Receives the log likelihood.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_beam_search(const SrPlayedNotes* played, const SrGridWish* wish, SrGridNote* notes,
                        double* nats);

#endif // SR_TRANSCRIBE_BEAM_H
