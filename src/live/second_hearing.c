// SPDX-License-Identifier: GPL-3.0-or-later

// The second hearing of a round from its samples, with the current profile, and in other readings
// if in doubt.
//
// A round whose verdict is in doubt, and whose samples are all kept, is heard in the other readings
// too: three hearings at most. What it decides holds for the next ones. A long round is heard again
// while its last notes are still played, so that its verdict does not wait.

#include "choose_reading.h"
#include "following.h"
#include "tuning.h"

bool
sr_follow_is_kept(const SrLive* const l)
{
  const double kept_from_s = (double)sr_history_ring_start(l->history) / l->settings.rate_hz;
  return !isfinite(l->round_start_s) || kept_from_s < l->round_start_s - BEFORE_IT_S ||
         sr_history_ring_start(l->history) == 0;
}

bool
sr_follow_is_under_way(const SrLive* const l)
{
  return l->again.window && l->again_reading == l->reading &&
         l->again.at >= sr_history_ring_start(l->history) &&
         fabs(l->round_start_s - l->again_start_s) < SAME_ROUND_S &&
         fabs(l->since_s - l->again_since_s) < SAME_ROUND_S;
}

SrStatus
sr_follow_hear_again(SrLive* const l, SrError* const error)
{
  sr_relisten_clear(&l->again);
  l->again_start_s = l->round_start_s;
  l->again_since_s = l->since_s;
  SrStatus status = sr_follow_learn_more(l, error);
  if (status == SR_OK) {
    l->again_reading = sr_profile_reading(l->profile);
    status = sr_follow_begin_again(l, l->profile, l->since_s, RUN_UP_S, &l->again, error);
  }
  if (status == SR_OK) {
    // The same frame grid as for a recording, unless the loudest sample is still to come
    sr_window_place(l->again.window, l->loudest_at);
    status = sr_window_air_later(l->again.window);
  }
  return status;
}

SrStatus
sr_follow_hear_ahead(SrLive* const l, SrError* const error)
{
  SrStatus status = SR_OK;
  if (!sr_follow_is_under_way(l)) {
    const size_t last = LAST_NOTES + l->reached / NOTES_A_NOTE;
    const bool ends = l->reached + last >= sr_phrase_note_count(l->phrase);
    const bool is_long =
        sr_follow_now_s(l) - l->round_start_s > LONG_ROUND_S; // false if no round has begun
    if (!(ends && is_long && sr_follow_is_kept(l))) {
      return SR_OK;
    }
    status = sr_follow_hear_again(l, error);
  }
  // At once: the oldest samples may be gone after the next step
  if (status == SR_OK &&
      sr_relisten_do(&l->again, l->history, AHEAD * (uint64_t)l->step_size) != SR_OK) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to hear this round.");
  }
  return status;
}

SrStatus
sr_follow_finish_again(const SrLive* const l, const SrReading reading,
                       const SrRelisten* const relisten, const double until_s,
                       SrAssessment** const assessment)
{
  SrHeard heard;
  SrWindow* const again = relisten->window;
  SrStatus status = sr_window_finish(again);
  if (status == SR_OK) {
    status = sr_window_heard(again, NULL, 0, until_s, &heard);
  }
  if (status == SR_OK) {
    status = sr_follow_judge_again(l, reading, &heard, assessment);
  }
  // After much talk the start of the round may be unclear to the second hearing; the live one knows
  // it
  const bool later = isfinite(l->round_start_s) && l->round_start_s > l->since_s + BEFORE_IT_S;
  if (status == SR_OK && later) {
    SrAssessment* narrow = NULL;
    sr_window_drop(again, l->round_start_s - BEFORE_IT_S);
    status = sr_window_heard(again, NULL, 0, until_s, &heard);
    status = status == SR_OK ? sr_follow_judge_again(l, reading, &heard, &narrow) : status;
    if (sr_follow_is_better(narrow, *assessment)) {
      sr_assessment_del(*assessment);
      *assessment = narrow;
    } else {
      sr_assessment_del(narrow);
    }
  }
  return status;
}

/// A round heard again.
typedef struct {
  const SrLive* live;
  double until_s;
} Again;

/// Hear and judge a round in a reading.
static SrStatus
judge_as(void* const context, const SrReading reading, SrListened* const listened,
         SrError* const error)
{
  const Again* const round = (const Again*)context;
  const SrLive* const l = round->live;
  SrProfile* profile = NULL;
  SrRelisten again = {0};
  SrStatus status = sr_follow_profile_as(l, reading, &profile, error);
  if (status == SR_OK) {
    status = sr_follow_begin_again(l, profile, l->since_s, RUN_UP_S, &again, error);
  }
  if (status == SR_OK) {
    sr_window_place(again.window, l->loudest_at);
    status = sr_window_air_later(again.window);
  }
  if (status == SR_OK) {
    status = sr_relisten_do(&again, l->history, UINT64_MAX);
  }
  if (status == SR_OK) {
    status = sr_follow_finish_again(l, reading, &again, round->until_s, &listened->assessment);
  }
  sr_relisten_clear(&again);
  sr_profile_del(profile);
  return status;
}

SrStatus
sr_follow_try_other_readings(SrLive* const l, const double until_s, SrAssessment** const assessment,
                             SrError* const error)
{
  Again round = {l, until_s};
  const SrReadingTrial trial = {judge_as, &round};
  const double nats = sr_calibration_doubled_nats(l->calibration);
  SrListened best = {.assessment = *assessment};
  SrReading reading = l->reading;
  const SrStatus status = sr_readings_try(&trial, nats, &reading, &best, error);
  *assessment = best.assessment;
  if (reading != l->reading) {
    l->decided = reading != SR_READ_ACCOMPANIED && reading != sr_follow_likely_reading(l);
    sr_follow_read_as(l, reading);
  }
  return status;
}
