// SPDX-License-Identifier: GPL-3.0-or-later

// Estimating the instrument, and the reading, during play.
//
// In the first round the listener is replaced several times by one that knows the instrument
// better, which hears the round so far again. A listener is made for one reading, and reports by
// it.

#include "choose_reading.h"
#include "following.h"
#include "tuning.h"

SrStatus
sr_follow_new_calibration(const SrLive* const l, SrCalibration** const calibration,
                          SrError* const error)
{
  const SrStatus status = sr_calibration_new(l->settings.rate_hz, &l->expected, calibration, error);
  if (status == SR_OK && l->settings.signal_midi >= 0) {
    sr_calibration_watch(*calibration);
  }
  return status;
}

void
sr_follow_read_as(SrLive* const l, const SrReading reading)
{
  l->reading = reading;
  l->learnt_s = 0.0; // the last estimate has the old reading
  l->settings.judge.accompanied = reading == SR_READ_ACCOMPANIED;
}

SrStatus
sr_follow_begin_again(const SrLive* const l, const SrProfile* const profile, const double since_s,
                      const double run_up_s, SrRelisten* const again, SrError* const error)
{
  const double from_s = isfinite(l->round_start_s) ? l->round_start_s : since_s;
  return sr_relisten_begin(again, l->history, l->settings.rate_hz, profile, &l->expected,
                           from_s - run_up_s, since_s, error);
}

SrStatus
sr_follow_profile_as(const SrLive* const l, const SrReading reading, SrProfile** const profile,
                     SrError* const error)
{
  const SrStatus status = sr_calibration_finish(l->calibration, reading, profile, error);
  if (status == SR_OK && l->known) {
    sr_profile_complete(*profile, l->known);
  }
  return status;
}

SrReading
sr_follow_likely_reading(const SrLive* const l)
{
  return sr_reading_likely(sr_calibration_doubled_nats(l->calibration));
}

/// Switch between single and doubled if the evidence is certain.
static bool
change_reading(SrLive* const l)
{
  const double nats = sr_calibration_doubled_nats(l->calibration);
  const SrReading likely = sr_follow_likely_reading(l);
  // Accompaniment is decided when a round is over
  const bool changes = l->reading != SR_READ_ACCOMPANIED && !l->decided && likely != l->reading &&
                       !sr_listen_is_unsure(nats);
  if (changes) {
    sr_follow_read_as(l, likely);
  }
  l->read_s = sr_calibration_heard_s(l->calibration);
  return changes;
}

SrStatus
sr_follow_learn(SrLive* const l, SrError* const error)
{
  change_reading(l);
  SrProfile* profile = NULL;
  const SrStatus status = sr_follow_profile_as(l, l->reading, &profile, error);
  if (status == SR_OK) {
    sr_profile_del(l->profile);
    l->profile = profile;
    l->learnt_s = sr_calibration_heard_s(l->calibration);
    l->relisten = true;
  }
  return status;
}

SrStatus
sr_follow_learn_more(SrLive* const l, SrError* const error)
{
  const bool more = sr_calibration_heard_s(l->calibration) >= LEARN_ROUND_FACTOR * l->learnt_s;
  return more ? sr_follow_learn(l, error) : SR_OK;
}

SrStatus
sr_follow_change_ear(SrLive* const l, SrError* const error)
{
  SrRelisten again = {0};
  SrStatus status =
      sr_follow_begin_again(l, l->profile, l->follow_s, SHORT_RUN_UP_S, &again, error);
  if (status == SR_OK) {
    sr_window_at_once(again.window);
    status = sr_relisten_do(&again, l->history, UINT64_MAX);
  }
  if (status != SR_OK) {
    sr_relisten_clear(&again);
    return status;
  }
  sr_window_del(l->window);
  l->window = again.window;
  l->relisten = false;
  l->judge_anyway = true;
  return SR_OK;
}

/// Whether a reed sounds that is not in the profile and fits its substitute badly.
static bool
is_strange(const SrLive* const l)
{
  for (size_t i = 0; i < l->open_count; ++i) {
    const SrOpenSound* const open = &l->open[i];
    if (open->doubtful && open->seen_s > STRANGE_S &&
        !sr_profile_reed(l->profile, open->event.midi, NULL)) {
      return true;
    }
  }
  return false;
}

SrStatus
sr_follow_learn_early(SrLive* const l, SrError* const error)
{
  if (sr_follow_now_s(l) - l->round_start_s > MOST_AGAIN_S) { // false if no round has begun
    return SR_OK;
  }
  const double heard_s = sr_calibration_heard_s(l->calibration);
  const bool grown = l->learn_at_s <= LEARN_LAST_S && heard_s >= l->learn_at_s;
  const bool strange = heard_s >= l->learnt_s + STRANGE_S && is_strange(l);
  const bool misread = heard_s >= l->read_s + READ_AGAIN_S && change_reading(l);
  if (!grown && !strange && !misread) {
    return SR_OK;
  }
  while (l->learn_at_s <= heard_s && l->learn_at_s <= LEARN_LAST_S) {
    l->learn_at_s *= l->learn_at_s < LEARN_MORE_S ? LEARN_FACTOR : LEARN_MORE_FACTOR;
  }
  const SrStatus status = sr_follow_learn(l, error);
  return status == SR_OK ? sr_follow_change_ear(l, error) : status;
}
