// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reported.h
   What is reported of a take while it is played.
*/

#ifndef TEST_TOLD_H
#define TEST_TOLD_H

#include "take_maker.h"

#include <steadyreed/judge.h>

/// What was reported of one note.
typedef struct {
  SrNoteVerdict first;
  SrNoteVerdict last;
  bool reported;
} ReportedNote;

/// What was reported of one round.
typedef struct {
  ReportedNote* notes;      ///< As many as the phrase has
  SrAssessment* assessment; ///< When it was over; NULL if that never came
} ReportedRound;

/// Follow a take as it is played, by an ear that knows nothing of the box. Gives how many rounds
/// were reported, and an array of them to be freed with reported_del().
size_t reported_follow(const SrPhrase* phrase, const Take* take, ReportedRound** rounds);
/// Free.
void reported_del(ReportedRound* rounds, size_t count);
/// The round of an assessment that lies on most of a true one; NULL if none lies on half of it.
const SrRound* reported_round_on(const SrAssessment* assessment, const TruthRound* truth);

#endif // TEST_TOLD_H
