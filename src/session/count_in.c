// SPDX-License-Identifier: GPL-3.0-or-later

// When the click counts in: at once, or when the player is ready. See session.h.

#include "session_state.h"

#include <math.h>

/// Without a ready note or a delay, the wait after a round, s.
#define ROUND_WAIT_S 2.0
/// The ready note began after the last round if it began at most this long before its end, s.
#define ROUND_END_S 0.05
/// Notes reached by one or two sounds, which may be the ready note itself, a word or a note tried.
#define TRIED_NOTES 1u

/// The rest that is written after the first note of the phrase, s.
static double
first_rest_s(const SrSession* const session)
{
  if (sr_phrase_note_count(session->phrase) < 2) {
    return 0.0;
  }
  const SrPhraseNote* const first = sr_phrase_note(session->phrase, 0);
  const double end = sr_fraction_value(first->start) + sr_fraction_value(first->length);
  const double rest = sr_fraction_value(sr_phrase_note(session->phrase, 1)->start) - end;
  const double pulse = sr_fraction_value(sr_phrase_bar(session->phrase, 0)->pulse);
  return fmax(0.0, rest / pulse * 60.0 / session->click.bpm);
}

/// Length of the delay, s; NAN without one.
static double
delay_s(const SrSession* const session)
{
  const SrSessionSettings* const settings = &session->settings;
  return settings->start_wait_s > 0.0 ? settings->start_wait_s
         : settings->ready_midi < 0   ? ROUND_WAIT_S
                                      : (double)NAN;
}

bool
sr_wait_is_delay(const SrSession* const session)
{
  return session->wait.waits && isfinite(delay_s(session));
}

static void
begin(SrSession* const session)
{
  SrWait* const wait = &session->wait;
  SrProfile* const profile = sr_live_profile(session->live);
  const double reference_hz = profile ? sr_profile_reference_hz(profile) : session->reference_hz;
  sr_profile_del(profile);
  wait->waits = true;
  wait->since_s = sr_session_now_s(session);
  wait->ready_s = (double)NAN;
  wait->ready = sr_ready_note(session->settings.ready_midi, reference_hz,
                              sr_live_settings_default().signal_held_s, first_rest_s(session));
}

void
sr_wait_begin(SrSession* const session)
{
  const SrSessionSettings* const settings = &session->settings;
  if (!settings->silent && (settings->ready_midi >= 0 || settings->start_wait_s > 0.0)) {
    begin(session);
  }
}

void
sr_wait_listen(SrSession* const session, const float* const samples, const size_t count)
{
  if (session->settings.ready_midi < 0 || session->settings.silent) {
    return;
  }
  // Without a pause, so that its times are those of the session
  for (size_t done = 0; done < count;) {
    done += sr_pitch_track_push(session->track, samples + done, count - done);
    SrPitchPoint point;
    if (sr_pitch_track_pull(session->track, &point) && session->wait.waits) {
      session->wait.ready_s = sr_ready_note_push(&session->wait.ready, &point);
    }
  }
}

void
sr_wait_round(SrSession* const session, const double end_s)
{
  session->wait.round_end_s = end_s;
  if (session->settings.count_in_each && !session->settings.silent) {
    sr_click_pause(session);
    begin(session);
  }
}

/// Time until the count-in begins by itself, s; NAN if it does not.
static double
left_s(const SrSession* const session)
{
  const double quiet_s =
      fmax(session->wait.since_s, fmax(sr_live_last_note_s(session->live), session->deaf_until_s));
  return delay_s(session) - (sr_session_now_s(session) - quiet_s);
}

/// Report the wait if that has changed.
static void
show(SrSession* const session, const bool waits, const double left)
{
  SrWait* const wait = &session->wait;
  const double whole_s = ceil(left);
  const bool changed = waits != wait->shown ||
                       (waits && isfinite(whole_s) && fabs(whole_s - wait->shown_left_s) > 0.5);
  if (!changed) {
    return;
  }
  wait->shown = waits;
  wait->shown_left_s = whole_s;
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_WAITING,
                                              .waiting = {.over = !waits,
                                                          .midi = session->settings.ready_midi,
                                                          .left_s = left}});
}

void
sr_wait_follow(SrSession* const session)
{
  SrWait* const wait = &session->wait;
  const bool plays = sr_live_reached(session->live) > TRIED_NOTES || session->playing.active;
  const double left = wait->waits ? left_s(session) : (double)NAN;
  if (wait->waits && !plays) {
    const bool ready = wait->ready_s > wait->round_end_s - ROUND_END_S;
    wait->waits = !ready && !(left <= 0.0);
    wait->over_s = wait->waits ? wait->over_s : sr_session_now_s(session);
  }
  show(session, wait->waits && !plays && !session->click.off, left);
}

void
sr_wait_skip(SrSession* const session)
{
  const SrClickTrack* const click = &session->click;
  const bool counts_in = click->running && click->counted < click->count_in;
  if (session->settings.silent || click->off || counts_in) {
    return;
  }
  sr_playing_stop(session);
  session->wait.waits = false;
  session->wait.over_s = sr_session_now_s(session);
  if (click->running) {
    sr_click_stop(session); // it restarts by itself
  }
}
