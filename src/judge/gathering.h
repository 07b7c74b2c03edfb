// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file gathering.h
   The sounds of a round's notes, gathered by rounds.c and made into verdicts.
*/

#ifndef SR_JUDGE_GATHERING_H
#define SR_JUDGE_GATHERING_H

#include "rounds.h"

/// The sounds of a round's notes, while it is gathered.
typedef struct {
  long* main; ///< Index of each note's sound, -1 if none
  long* cut;
  long* grace;    ///< The first of several graces, -1 if none
  size_t* graces; ///< Number of graces
  bool* on_top;
  long last; ///< Last note begun, -1 before the first
  size_t filled;
  size_t first_sound;
  size_t last_sound;
  bool going_on; ///< The last note may still sound
} SrGathering;

// round_notes.c

/// Fill one note from its sounds.
void sr_round_fill_note(const SrTake* take, const SrGathering* g, SrRound* round, size_t i);

// round_finish.c

/// Add a round with what was gathered, but without slips; false if out of memory.
bool sr_round_finish(const SrTake* take, const SrAlignedSound* aligned, const SrGathering* g,
                     SrAssessment* assessment);

#endif // SR_JUDGE_GATHERING_H
