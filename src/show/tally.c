// SPDX-License-Identifier: GPL-3.0-or-later

#include "tally.h"

#include <math.h>

const char*
sr_cut_word(const SrCutVerdict verdict)
{
  switch (verdict) {
  case SR_CUT_CLEAN:
    return "clean";
  case SR_CUT_LONG:
    return "long";
  case SR_CUT_JOINED:
    return "joined";
  case SR_CUT_ABSENT:
    return "absent";
  case SR_CUT_STRAY:
    return "stray";
  }
  return "absent";
}

const char*
sr_ornament_word(const SrOrnament ornament)
{
  switch (ornament) {
  case SR_ORNAMENT_NONE:
    return NULL;
  case SR_ORNAMENT_CUT:
    return "cut";
  case SR_ORNAMENT_STRIKE:
    return "strike";
  case SR_ORNAMENT_ROLL:
    return "roll";
  case SR_ORNAMENT_CRAN:
    return "cran";
  case SR_ORNAMENT_GROUP:
    return "group";
  }
  return NULL;
}

bool
sr_is_air_heard(const SrRound* const round, const size_t note)
{
  for (size_t i = 0; i < round->air_count; ++i) {
    if (round->air[i].note_index == note && round->air[i].audible) {
      return true;
    }
  }
  return false;
}

void
sr_tally_add(SrTally* const tally, const SrRound* const round)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    ++tally->notes;
    switch (note->status) {
    case SR_NOTE_PLAYED:
      ++tally->played;
      break;
    case SR_NOTE_MISSED:
      ++tally->missed;
      tally->left_out += note->left_out;
      break;
    case SR_NOTE_WRONG:
      ++tally->wrong;
      break;
    case SR_NOTE_UNHEARD:
      ++tally->unheard;
      break;
    }
    if (note->air_asked && (note->status == SR_NOTE_PLAYED || note->status == SR_NOTE_WRONG)) {
      ++tally->air_asked;
      tally->air_heard += sr_is_air_heard(round, i);
    }
    if (note->status == SR_NOTE_PLAYED) {
      ++tally->written[note->ornament];
      const bool whole = sr_ornament_is_whole(note->ornament, note->graces);
      tally->heard[note->ornament] += whole;
      tally->in_part[note->ornament] += !whole && sr_ornament_is_heard(note->graces);
    }
    if (note->has_cut) {
      ++tally->cuts[note->cut.verdict];
      tally->strikes += note->ornament == SR_ORNAMENT_STRIKE;
    } else if (note->joined == SR_YES) {
      ++tally->joined;
    }
  }
  for (size_t i = 0; i < round->air_count; ++i) {
    tally->air_elsewhere += round->air[i].audible && !round->air[i].asked;
  }
  tally->cuts_asked += round->asked.cuts;
  tally->cuts_judged += round->judged.cuts;
  tally->insertions += round->insertion_count;
  for (size_t i = 0; i < round->slip_count; ++i) {
    ++tally->slips[round->slips[i].kind];
  }
}

/// Mean of a round's available scores; 100 if there are none.
static double
mean_score(const SrScores* const scores)
{
  const double each[] = {scores->cuts, scores->evenness, scores->air};
  double sum = 0.0;
  int count = 0;
  for (size_t i = 0; i < sizeof(each) / sizeof(each[0]); ++i) {
    if (isfinite(each[i])) {
      sum += each[i];
      ++count;
    }
  }
  return count ? sum / count : 100.0;
}

bool
sr_is_incomplete(const SrRound* const round)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    if (round->notes[i].status == SR_NOTE_UNHEARD) {
      return true;
    }
  }
  return false;
}

const char*
sr_worst_advice(const SrAssessment* const assessment, size_t* const number)
{
  const char* advice = NULL;
  double lowest = (double)INFINITY;
  for (size_t i = 0; i < assessment->round_count; ++i) {
    const SrRound* const round = &assessment->rounds[i];
    const double score = mean_score(&round->scores);
    if (round->advice_count > 0 && score < lowest) {
      lowest = score;
      advice = round->advice[0];
      *number = i + 1;
    }
  }
  return advice;
}
