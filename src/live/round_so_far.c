// SPDX-License-Identifier: GPL-3.0-or-later

// The round so far: whether it began, continues, or another one began.
//
// Another round needs several notes of its own (SURE_NOTES, SURER_NOTES), because a wrong note can
// look like a beginning for a moment.

#include "following.h"
#include "tuning.h"

/// Length of a pulse at the played tempo, or at `else_bpm` if that is unknown, s.
static double
pulse_s(const SrLive* const l, const double else_bpm)
{
  return 60.0 / (isfinite(l->played_bpm) && l->played_bpm > 20.0 ? l->played_bpm : else_bpm);
}

double
sr_follow_longest_rest_s(const SrLive* const l)
{
  return l->longest_rest * pulse_s(l, 60.0);
}

double
sr_follow_next_note_s(const SrLive* const l)
{
  if (l->reached >= sr_phrase_note_count(l->phrase)) {
    return 0.0;
  }
  return sr_follow_in_pulses(l, sr_phrase_note(l->phrase, l->reached)->length) *
         pulse_s(l, sr_judge_likely_bpm(l->phrase, &l->settings.judge));
}

/// Length of the silence before a time, s.
static double
silence_before_s(const SrHeard* const heard, const double time_s)
{
  double end_s = 0.0;
  for (size_t i = 0; i < heard->event_count; ++i) {
    const SrEvent* const sound = &heard->events[i];
    if (sound->kind == SR_EVENT_SOUND && sound->onset_s < time_s - SAME_SOUND_S) {
      end_s = fmax(end_s, fmin(sound->end_s, time_s));
    }
  }
  return time_s - end_s;
}

/// Whether the pitches of the first `count` notes occur at another place in the phrase.
static bool
begins_elsewhere(const SrPhrase* const phrase, const size_t count)
{
  const size_t notes = sr_phrase_note_count(phrase);
  for (size_t from = 1; from + count <= notes; ++from) {
    size_t same = 0;
    while (same < count &&
           sr_phrase_note(phrase, from + same)->midi == sr_phrase_note(phrase, same)->midi) {
      ++same;
    }
    if (same == count) {
      return true;
    }
  }
  return false;
}

/// Whether the notes of an apparent new round may still belong to the current one.
static bool
may_go_on(const SrLive* const l, const SrHeard* const heard, const SrSoFar* const so_far)
{
  const bool was_whole = l->reached + 3 >= sr_phrase_note_count(l->phrase);
  if (so_far->reached >= SURER_NOTES || (was_whole && so_far->reached >= SURE_NOTES)) {
    return false;
  }
  return so_far->reached < SURE_NOTES || silence_before_s(heard, so_far->start_s) < PAUSE_S ||
         begins_elsewhere(l->phrase, so_far->reached);
}

SrStatus
sr_follow_judge_so_far(SrLive* const l, SrError* const error)
{
  SrHeard heard;
  SrSoFar so_far = {0};
  l->waits = false;
  SrStatus status = sr_window_heard(l->window, l->open, l->open_count, INFINITY, &heard);
  if (status == SR_OK) {
    status = sr_judge_so_far(l->phrase, &heard, &l->settings.judge, l->follower, &so_far);
  }
  if (status != SR_OK) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to judge this round.");
  }
  if (so_far.rounds_before > 0 && may_go_on(l, &heard, &so_far)) {
    // The next round may have begun, or a note went wrong
    sr_so_far_clear(&so_far);
    return SR_OK;
  }
  if (so_far.rounds_before > 0) {
    // The next round began before this one seemed over. The second hearing may place its start
    // slightly earlier, but still after the last note's start: no note is that short
    const double until_s = so_far.start_s - NEXT_ROUND_S;
    sr_so_far_clear(&so_far);
    return sr_follow_end_round(l, until_s, error);
  }
  if (so_far.reached == 0 && l->reached <= TRIED_NOTES && sr_follow_count_reported(l) > 0) {
    // A note tried, or a word: not a new start yet
    sr_so_far_clear(&so_far);
    return SR_OK;
  }
  const bool went_back = so_far.reached + 1 < l->reached;
  const bool moved = fabs(so_far.start_s - l->round_start_s) > SAME_ROUND_S;
  const bool again = l->reached > 0 && (so_far.reached == 0 || (went_back && moved));
  const size_t reported = sr_follow_count_reported(l);
  const bool first_only = reported == 0 || (reported == 1 && l->reported[0].reported);
  if (again && (!first_only || so_far.reached == 0)) {
    if (!first_only) {
      sr_follow_report(l, SR_NEWS_AGAIN);
    }
    sr_follow_forget_reported(l);
  } else if (again) {
    memset(l->reported + 1, 0, (sr_phrase_note_count(l->phrase) - 1) * sizeof(Reported));
  } else if (went_back) {
    // The player went back, or it only looks so for a moment
    for (size_t i = 0; i < l->reached; ++i) {
      l->reported[i].left = true;
    }
  }
  l->reached = so_far.reached;
  l->round_start_s = so_far.start_s;
  l->played_bpm = so_far.played_bpm;
  l->last_end_s = 0.0;
  sr_follow_report_notes(l, &so_far);
  sr_so_far_clear(&so_far);
  return SR_OK;
}
