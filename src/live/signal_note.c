// SPDX-License-Identifier: GPL-3.0-or-later

// The low note, held alone between rounds, is a signal.

#include "following.h"
#include "tuning.h"

/// Find the signal note sounding alone: as the only open sound, or, since its reed may differ from
/// those in the profile, as a single harmonic series of its pitch.
static bool
find_signal(SrLive* const l, double* const onset_s, double* const last_s)
{
  const uint64_t windows = sr_calibration_windows(l->calibration);
  const bool is_new = windows != l->windows;
  l->windows = windows;
  const SrOpenSound* held = NULL;
  for (size_t i = 0; i < l->open_count; ++i) {
    held = l->open[i].event.midi == l->settings.signal_midi ? &l->open[i] : held;
  }
  if (held && l->open_count == 1 && !(held->falling_s > OVER_S)) {
    *onset_s = held->event.onset_s;
    *last_s = held->event.end_s;
    return true;
  }
  const double alone_hz = sr_calibration_alone_hz(l->calibration);
  if (is_new &&
      fabs(sr_follow_cents_over_reed(l, l->settings.signal_midi, alone_hz)) < SIGNAL_CENTS) {
    *onset_s = sr_follow_now_s(l) - SR_CALIBRATION_WINDOW_S / 2.0;
    *last_s = *onset_s;
    return true;
  }
  return false;
}

/// Whether a round is in progress: begun, and not left long enough before a time to be ended by
/// silence. Speech after a note or two does not end it.
static bool
is_in_round(const SrLive* const l, const double at_s)
{
  const double left_s = at_s - l->settings.broken_off_s - sr_follow_longest_rest_s(l);
  return l->reached >= 2 && !(l->round_start_s < left_s && l->last_end_s < left_s);
}

/// Until when the signal may be silent and go on.
static double
goes_on_until_s(const SrLive* const l)
{
  const double until_s = l->signal_last_s + SIGNAL_GAP_S;
  return until_s >= l->covered_from_s ? fmax(until_s, l->covered_until_s + SIGNAL_BACK_S) : until_s;
}

/// Report the signal and end what was left before it.
static SrStatus
report_signal(SrLive* const l, const double held_s, SrError* const error)
{
  SrStatus status = SR_OK;
  if (l->reached > TRIED_NOTES) {
    status = sr_follow_end_round(l, l->signal_onset_s - OVERLAP_S, error);
  } else if (l->reached > 1) {
    sr_follow_report(l, SR_NEWS_NOTHING);
  }
  SrNews* const news = sr_follow_report(l, SR_NEWS_SIGNAL);
  if (news) {
    news->held_s = held_s;
  }
  // The signal is not a note of a round
  l->since_s = fmax(l->since_s, l->signal_last_s);
  sr_follow_follow_from(l, l->since_s);
  sr_follow_forget_reported(l);
  return status;
}

SrStatus
sr_follow_watch_signal(SrLive* const l, SrError* const error)
{
  SrStatus status = SR_OK;
  const bool sounds = isfinite(l->signal_onset_s);
  double onset_s;
  double last_s;
  if (find_signal(l, &onset_s, &last_s)) {
    const bool goes_on = sounds && onset_s <= goes_on_until_s(l);
    l->signal_onset_s = goes_on ? fmin(l->signal_onset_s, onset_s) : onset_s;
    l->signal_last_s = fmax(last_s, goes_on ? l->signal_last_s : 0.0);
    l->signal_in_round = (goes_on && l->signal_in_round) || is_in_round(l, l->signal_onset_s);
    return status;
  }
  if (!sounds || sr_window_heard_s(l->window) <= goes_on_until_s(l)) {
    return status;
  }
  const double held_s = l->signal_last_s - l->signal_onset_s;
  if (held_s >= l->settings.signal_held_s && !l->signal_in_round &&
      !is_in_round(l, l->signal_onset_s)) {
    status = report_signal(l, held_s, error);
  }
  l->signal_onset_s = (double)NAN;
  return status;
}

bool
sr_live_signal_sounds(const SrLive* const l)
{
  return isfinite(l->signal_onset_s);
}

double
sr_live_signal_held_s(const SrLive* const l)
{
  if (!isfinite(l->signal_onset_s) || l->signal_in_round || is_in_round(l, l->signal_onset_s)) {
    return 0.0;
  }
  // Where it is covered, it is held as far as is known
  const bool covered =
      l->looked_s >= l->covered_from_s && l->looked_s <= l->covered_until_s + SIGNAL_BACK_S;
  const double most_s = l->signal_last_s + SIGNAL_COVERED_S;
  const double last_s =
      covered ? fmax(fmin(l->looked_s, most_s), l->signal_last_s) : l->signal_last_s;
  return last_s - l->signal_onset_s;
}

void
sr_live_signal_covered(SrLive* const l, const double from_s, const double until_s)
{
  l->covered_from_s = from_s;
  l->covered_until_s = until_s;
  // What sounds again afterwards is not the second note of a phrase that begins with this one
  if (isfinite(l->signal_onset_s) && !l->signal_in_round && l->reached <= 1) {
    l->since_s = fmax(l->since_s, from_s);
    sr_follow_follow_from(l, l->since_s);
    sr_follow_forget_reported(l);
  }
}
