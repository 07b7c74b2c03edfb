// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file live.c
   Follows a phrase while it is played. After each step of 2 ms it checks what sounds; if that has
   changed, all sounds of the round so far are judged again, and whatever is new is reported.

   The same engine and judge as for a recording, except that the engine does not wait for whole
   blocks (sr_hear_at_once()): each 2 ms is solved as soon as it differs. sr_hear_open() gives the
   sounds that are not over, as they look now, and changes nothing. When the last note is over the
   round is heard again from its samples, with the profile known when that hearing begins, and
   judged as a recording; that verdict stands.
*/

#include "following.h"
#include "tuning.h"

SrLiveSettings
sr_live_settings_default(void)
{
  const SrLiveSettings settings = {.rate_hz = 48000.0,
                                   .profile = NULL,
                                   .judge = sr_judge_settings_default(),
                                   .least_seen_s = 0.004,
                                   .broken_off_s = 2.5,
                                   .signal_midi = 48,
                                   .signal_held_s = 2.0};
  return settings;
}

void
sr_live_del(SrLive* const l)
{
  if (!l) {
    return;
  }
  SrNews news;
  while (sr_live_pull(l, &news)) {
    sr_assessment_del(news.assessment);
  }
  sr_window_del(l->window);
  sr_relisten_clear(&l->again);
  sr_history_ring_del(l->history);
  sr_follower_del(l->follower);
  sr_calibration_del(l->calibration);
  sr_profile_del(l->profile);
  sr_profile_del(l->known);
  free(l->step);
  free(l->reported);
  free(l->news);
  free(l);
}

/// The longest rest between two notes of a phrase, pulses.
static double
longest_rest_of(const SrPhrase* const phrase)
{
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  double longest = 0.0;
  for (size_t i = 0; i + 1 < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const double end = sr_fraction_value(note->start) + sr_fraction_value(note->length);
    longest = fmax(longest, sr_fraction_value(sr_phrase_note(phrase, i + 1)->start) - end);
  }
  return longest / pulse;
}

SrStatus
sr_live_new(const SrPhrase* const phrase, const SrLiveSettings* const settings, SrLive** const live,
            SrError* const error)
{
  *live = NULL;
  SrLive* const l = (SrLive*)calloc(1, sizeof(SrLive));
  if (!l) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  l->phrase = phrase;
  l->settings = settings ? *settings : sr_live_settings_default();
  l->expected = sr_live_expected(phrase);
  l->longest_rest = longest_rest_of(phrase);
  const bool given = l->settings.profile != NULL;
  l->known = given ? sr_profile_copy(l->settings.profile) : NULL;
  l->profile = given ? sr_profile_copy(l->settings.profile) : sr_profile_new(440.0);
  sr_follow_read_as(l, given ? sr_profile_reading(l->settings.profile) : SR_READ_SINGLE);
  l->settings.profile = NULL;
  const double rate_hz = l->settings.rate_hz;
  SrStatus status = sr_follow_new_calibration(l, &l->calibration, error);
  if (status == SR_OK) {
    status = sr_window_new(rate_hz, l->profile, &l->expected, 0, 0.0, &l->window, error);
  }
  if (status != SR_OK) {
    sr_live_del(l);
    return status;
  }
  sr_window_at_once(l->window);
  l->history = sr_history_ring_new((size_t)(PAST_S * rate_hz));
  l->follower = sr_follower_new();
  l->step_size = (size_t)lround(STEP_S * rate_hz);
  l->step = (float*)malloc(l->step_size * sizeof(float));
  l->reported = (Reported*)calloc(sr_phrase_note_count(phrase), sizeof(Reported));
  l->round = 1;
  l->learn_at_s = LEARN_FIRST_S;
  l->round_start_s = (double)NAN;
  l->signal_onset_s = (double)NAN;
  l->covered_from_s = (double)INFINITY;
  if (!l->profile || (given && !l->known) || !l->history || !l->follower || !l->step ||
      !l->reported) {
    sr_live_del(l);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  *live = l;
  return SR_OK;
}

double
sr_follow_now_s(const SrLive* const l)
{
  return (double)l->pushed / l->settings.rate_hz;
}

static SrStatus
do_step(SrLive* const l, SrError* const error)
{
  if (!sr_history_ring_add(l->history, l->step, l->step_size)) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  sr_follow_note_loudest(l, l->step, l->step_size, l->pushed);
  sr_follow_follow_power(l);
  l->pushed += l->step_size;
  l->step_fill = 0;
  sr_calibration_push(l->calibration, l->step, l->step_size);
  SrStatus status = sr_window_push(l->window, l->step, l->step_size);
  if (status != SR_OK) {
    return sr_error_set(error, status, "There is not enough memory to listen.");
  }
  status = sr_follow_look(l, error);
  if (status == SR_OK && l->round_over) {
    l->round_over = false;
    status = sr_follow_learn_more(l, error);
    status = status == SR_OK && l->relisten ? sr_follow_change_ear(l, error) : status;
  } else if (status == SR_OK) {
    status = sr_follow_learn_early(l, error);
  }
  if (status == SR_OK) {
    status = sr_follow_hear_ahead(l, error);
  }
  if (!isfinite(l->round_start_s)) {
    // No round has begun: only the run-up has to be kept
    const double keep_s = sr_follow_now_s(l) - RUN_UP_S - 2.0;
    sr_history_ring_forget(l->history, (uint64_t)(fmax(0.0, keep_s) * l->settings.rate_hz));
  }
  return status;
}

SrStatus
sr_live_push(SrLive* const l, const float* const samples, const size_t count, SrError* const error)
{
  SrStatus status = SR_OK;
  for (size_t done = 0; status == SR_OK && done < count;) {
    const size_t room = l->step_size - l->step_fill;
    const size_t part = count - done < room ? count - done : room;
    memcpy(l->step + l->step_fill, samples + done, part * sizeof(float));
    l->step_fill += part;
    done += part;
    if (l->step_fill == l->step_size) {
      status = do_step(l, error);
    }
  }
  if (status == SR_OK && l->lost) {
    status =
        sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to report what was heard.");
  }
  return status;
}

SrStatus
sr_live_finish(SrLive* const l, SrError* const error)
{
  SrStatus status = l->reached > 0 ? sr_follow_end_round(l, INFINITY, error) : SR_OK;
  return status == SR_OK && sr_calibration_heard_s(l->calibration) > l->learnt_s
             ? sr_follow_learn(l, error)
             : status;
}

void
sr_live_set_click(SrLive* const l, const double target_bpm, const double click_s,
                  const double click_period_s, const double click_pulses)
{
  l->settings.judge.target_bpm = target_bpm;
  l->settings.judge.click_s = click_s;
  l->settings.judge.click_period_s = click_period_s;
  l->settings.judge.click_pulses = click_pulses;
}

void
sr_live_set_silences(SrLive* const l, const SrSilence* const silences, const size_t count)
{
  const size_t kept = count < SR_LIVE_SILENCES ? count : SR_LIVE_SILENCES;
  if (kept > 0) {
    memcpy(l->silences, silences + (count - kept), kept * sizeof(SrSilence));
  }
  l->settings.judge.silences = l->silences;
  l->settings.judge.silence_count = kept;
}

bool
sr_live_in_round(const SrLive* const l)
{
  return l->reached > 0;
}

size_t
sr_live_reached(const SrLive* const l)
{
  return l->reached;
}

double
sr_live_round_start_s(const SrLive* const l)
{
  return isfinite(l->round_start_s) ? l->round_start_s : sr_window_heard_s(l->window);
}

double
sr_live_last_note_s(const SrLive* const l)
{
  // A written rest is not a silence
  const double waits_s = l->settings.broken_off_s + sr_follow_longest_rest_s(l);
  const bool rests = l->reached > 0 && l->looked_s - l->last_note_s < waits_s;
  return rests ? l->looked_s : l->last_note_s;
}

SrProfile*
sr_live_profile(const SrLive* const l)
{
  return sr_profile_copy(l->profile);
}
