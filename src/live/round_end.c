// SPDX-License-Identifier: GPL-3.0-or-later

// The end of a round: its assessment, and what is kept for the next one.

#include "following.h"
#include "tuning.h"

void
sr_follow_forget_reported(SrLive* const l)
{
  memset(l->reported, 0, sr_phrase_note_count(l->phrase) * sizeof(Reported));
  l->reached = 0;
  l->waits = false;
  l->round_start_s = (double)NAN;
  l->loudest_db = (double)-INFINITY;
}

void
sr_follow_follow_from(SrLive* const l, const double since_s)
{
  l->follow_s = since_s;
  sr_window_drop(l->window, since_s);
}

SrStatus
sr_follow_judge_again(const SrLive* const l, const SrReading reading, const SrHeard* const heard,
                      SrAssessment** const assessment)
{
  SrJudgeSettings settings = l->settings.judge;
  settings.accompanied = reading == SR_READ_ACCOMPANIED;
  const SrTakeFacts facts = {.path = "",
                             .seconds = sr_follow_now_s(l),
                             .rate_hz = l->settings.rate_hz,
                             .peak_dbfs = (double)NAN};
  const SrStatus status = sr_judge_take(l->phrase, heard, &facts, &settings, assessment, NULL);
  return status == SR_NO_MEMORY ? status : SR_OK;
}

/// Notes played in the last round of an assessment, 0 for NULL.
static size_t
played_notes(const SrAssessment* const assessment)
{
  const SrRound* const round = assessment ? &assessment->rounds[assessment->round_count - 1] : NULL;
  size_t played = 0;
  for (size_t i = 0; round && i < round->note_count; ++i) {
    played += round->notes[i].status == SR_NOTE_PLAYED;
  }
  return played;
}

bool
sr_follow_is_better(const SrAssessment* const narrow, const SrAssessment* const whole)
{
  const size_t with = played_notes(whole);
  const size_t without = played_notes(narrow);
  if (!narrow || !whole || with != without) {
    return without > with;
  }
  const double scatter = whole->rounds[whole->round_count - 1].pulse.spread_ms;
  const double less = narrow->rounds[narrow->round_count - 1].pulse.spread_ms;
  return isfinite(less) && !(scatter < LESS_SCATTER * less + LESS_SCATTER_MS);
}

/**
   The playing could not be followed: perhaps the instrument has changed. Start a new estimate from
   the history.
*/
static void
doubt_instrument(SrLive* const l)
{
  SrCalibration* calibration = NULL;
  if (sr_follow_new_calibration(l, &calibration, NULL) != SR_OK) {
    return; // keep the present one
  }
  uint64_t at = sr_history_ring_start(l->history);
  while (at < sr_history_ring_end(l->history)) {
    size_t count;
    const float* const samples = sr_history_ring_at(l->history, at, &count);
    sr_calibration_push(calibration, samples, count);
    at += count;
  }
  sr_calibration_del(l->calibration);
  l->calibration = calibration;
  l->learn_at_s = LEARN_FIRST_S;
  l->read_s = 0.0;
  l->decided = false;
  sr_follow_read_as(l, l->known ? sr_profile_reading(l->known) : SR_READ_SINGLE);
}

void
sr_follow_note_loudest(SrLive* const l, const float* const samples, const size_t count,
                       const uint64_t first)
{
  for (size_t i = 0; i < count; ++i) {
    if (fabsf(samples[i]) > l->loudest) {
      l->loudest = fabsf(samples[i]);
      l->loudest_at = first + i;
    }
  }
}

/// The next round's loudest sample may have come before this one was over.
static void
note_loudest_since(SrLive* const l, const double since_s)
{
  const double start = (double)sr_history_ring_start(l->history);
  const double end = (double)sr_history_ring_end(l->history);
  uint64_t at = (uint64_t)fmin(end, fmax(start, since_s * l->settings.rate_hz));
  l->loudest = 0.0f;
  while (at < sr_history_ring_end(l->history)) {
    size_t count;
    const float* const samples = sr_history_ring_at(l->history, at, &count);
    sr_follow_note_loudest(l, samples, count, at);
    at += count;
  }
}

/// A joined last note has no sound of its own to be reported by: only the end of the previous note
/// shows that it was played.
static void
report_joined_end(SrLive* const l, const SrAssessment* const assessment)
{
  const SrRound* const round = &assessment->rounds[assessment->round_count - 1];
  for (size_t i = l->reached; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    SrNews* const news = note->status == SR_NOTE_PLAYED && note->joined == SR_YES
                             ? sr_follow_report(l, SR_NEWS_NOTE)
                             : NULL;
    if (news) {
      news->note = *note;
    }
  }
}

/// Report the result of a round, and wait for the next.
static void
go_on_to_next(SrLive* const l, SrAssessment* const assessment, const double until_s)
{
  if (assessment) {
    assessment->doubled = l->reading == SR_READ_DOUBLED;
    report_joined_end(l, assessment);
  } else if (l->reached >= DOUBT_NOTES) {
    doubt_instrument(l);
  }
  SrNews* const news = sr_follow_report(l, assessment ? SR_NEWS_ROUND : SR_NEWS_NOTHING);
  if (news) {
    news->assessment = assessment;
  } else {
    sr_assessment_del(assessment);
  }
  l->round += assessment != NULL;
  sr_relisten_clear(&l->again);
  sr_follow_forget_reported(l);
  l->since_s = until_s;
  note_loudest_since(l, until_s);
  sr_follow_follow_from(l, until_s);
  l->round_over = true;
  l->judge_anyway = true;
}

/// Judge a round as it was followed.
static SrStatus
end_long_round(SrLive* const l, const double until_s, SrError* const error)
{
  SrAssessment* assessment = NULL;
  SrHeard heard;
  SrStatus status = sr_window_heard(l->window, l->open, l->open_count, until_s, &heard);
  if (status == SR_OK) {
    status = sr_follow_judge_again(l, l->reading, &heard, &assessment);
  }
  if (status != SR_OK) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge this round.");
  }
  go_on_to_next(l, assessment, until_s);
  if (l->reading == SR_READ_ACCOMPANIED) {
    // Other readings cannot be tried on such a round, so this one might stay for good
    sr_follow_read_as(l, sr_follow_likely_reading(l));
  }
  return SR_OK;
}

/**
   End a round: judge it again from its samples, with the profile of its second hearing.

   @param until_s Sounds that start at this time or later belong to the next round.
*/
SrStatus
sr_follow_end_round(SrLive* const l, const double until_s, SrError* const error)
{
  SrAssessment* assessment = NULL;
  // If the second hearing is in progress, what the last notes teach only helps the next round
  const bool under_way = sr_follow_is_under_way(l);
  const bool kept = sr_follow_is_kept(l);
  if (!under_way && !kept) {
    return end_long_round(l, until_s, error);
  }
  SrStatus status = under_way ? SR_OK : sr_follow_hear_again(l, error);
  if (status == SR_OK) {
    status = sr_relisten_do(&l->again, l->history, UINT64_MAX);
  }
  if (status == SR_OK) {
    status = sr_follow_finish_again(l, l->again_reading, &l->again, until_s, &assessment);
  }
  if (status == SR_OK && kept && l->reached > TRIED_NOTES) {
    status = sr_follow_try_other_readings(l, until_s, &assessment, error);
  }
  if (status != SR_OK) {
    sr_assessment_del(assessment);
    sr_relisten_clear(&l->again);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge this round.");
  }
  go_on_to_next(l, assessment, until_s);
  return SR_OK;
}
