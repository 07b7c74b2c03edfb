// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/judge.h>

/// Number of notes with a status, over all rounds, up to where the player stopped.
static size_t
count_notes(const SrAssessment* const assessment, const SrNoteStatus status)
{
  size_t count = 0;
  for (size_t r = 0; r < assessment->round_count; ++r) {
    const SrRound* const round = &assessment->rounds[r];
    for (size_t i = 0; i < round->note_count; ++i) {
      count += round->notes[i].status == status && !sr_round_is_behind_stop(round, i);
    }
  }
  return count;
}

double
sr_assessment_explained(const SrAssessment* const assessment)
{
  if (!assessment) {
    return 0.0;
  }
  double extra = 0.0;
  for (size_t r = 0; r < assessment->round_count; ++r) {
    extra += (double)assessment->rounds[r].insertion_count;
  }
  return (double)count_notes(assessment, SR_NOTE_PLAYED) -
         (double)count_notes(assessment, SR_NOTE_WRONG) - 0.5 * extra;
}

size_t
sr_assessment_asked(const SrAssessment* const assessment)
{
  size_t notes = 0;
  for (size_t r = 0; assessment && r < assessment->round_count; ++r) {
    for (size_t i = 0; i < assessment->rounds[r].note_count; ++i) {
      notes += !sr_round_is_behind_stop(&assessment->rounds[r], i);
    }
  }
  return notes;
}

double
sr_assessment_played(const SrAssessment* const assessment)
{
  if (!assessment) {
    return 0.0;
  }
  const double played = (double)count_notes(assessment, SR_NOTE_PLAYED);
  const double not_so =
      (double)(count_notes(assessment, SR_NOTE_MISSED) + count_notes(assessment, SR_NOTE_WRONG));
  return played > 0.0 ? played / (played + not_so) : 0.0;
}
