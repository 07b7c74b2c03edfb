// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file told.h
   What is told of a take while it is played.
*/

#ifndef TEST_TOLD_H
#define TEST_TOLD_H

#include "take_maker.h"

#include <steadyreed/judge.h>

/// What was told of one note.
typedef struct {
  SrNoteVerdict first;
  SrNoteVerdict last;
  bool told;
} ToldNote;

/// What was told of one round.
typedef struct {
  ToldNote* notes;          ///< As many as the phrase has
  SrAssessment* assessment; ///< When it was over; NULL if that never came
} ToldRound;

/// Follow a take as it is played, by an ear that knows nothing of the box. Gives how many rounds
/// were told, and an array of them to be freed with told_del().
size_t told_follow(const SrPhrase* phrase, const Take* take, ToldRound** rounds);
/// Free.
void told_del(ToldRound* rounds, size_t count);
/// The round of an assessment that lies on most of a true one; NULL if none lies on half of it.
const SrRound* told_round_on(const SrAssessment* assessment, const TruthRound* truth);

#endif // TEST_TOLD_H
