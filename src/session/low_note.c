// SPDX-License-Identifier: GPL-3.0-or-later

// Commands by holding the low note alone: once, play the phrase; twice, go on slower; long, end the
// session.

#include "sitting.h"

#include <math.h>

/// A signal held longer than this ends the session, s.
#define END_HELD_S 4.0
/// A signal that begins within this of the end of the first makes it a double, s.
#define SECOND_WITHIN_S 3.0
/// Tempo factor of a double signal, and the slowest tempo, pulses a minute.
#define SLOWER 0.9
#define SLOWEST_BPM 20.0
/// The phrase is queued this far ahead, s.
#define AHEAD_S 0.5

void
sr_phrase_feed(SrSession* const session)
{
  float samples[SR_SESSION_CHUNK];
  while (session->phrase_sound &&
         sr_stream_unplayed(session->stream) < (size_t)(AHEAD_S * session->rate_hz)) {
    const size_t count = sr_sound_read(session->phrase_sound, samples, SR_SESSION_CHUNK);
    if (count == 0) {
      sr_sound_del(session->phrase_sound);
      session->phrase_sound = NULL;
      return; // the click begins when all of it has been played
    }
    sr_stream_play(session->stream, samples, count);
  }
}

void
sr_phrase_play(SrSession* const session)
{
  if (session->settings.silent || session->phrase_sound) {
    return;
  }
  SrSoundSettings settings = sr_sound_settings_default();
  SrProfile* const profile = sr_live_profile(session->live);
  settings.rate_hz = session->rate_hz;
  settings.tempo_bpm = session->click.bpm;
  settings.reference_hz = profile ? sr_profile_reference_hz(profile) : 440.0;
  sr_profile_del(profile);
  sr_click_stop(session);
  sr_between_break(session);
  if (sr_sound_new(session->phrase, &settings, &session->phrase_sound, NULL) == SR_OK) {
    sr_session_report(session,
                      (SrSessionEvent){.kind = SR_SESSION_PLAYING, .bpm = session->click.bpm});
  }
}

void
sr_low_note_take(SrSession* const session, const SrNews* const news)
{
  SrSessionEvent event = {.kind = SR_SESSION_SIGNAL, .signal = {.held_s = news->held_s}};
  if (news->held_s >= END_HELD_S) {
    event.signal.meaning = SR_SIGNAL_END;
    sr_session_report(session, event);
    sr_session_end(session, SR_END_SIGNAL);
  } else if (session->settings.silent) {
    event.signal.meaning = SR_SIGNAL_NONE;
    sr_session_report(session, event);
  } else if (isfinite(session->signal_s) &&
             news->at_s - news->held_s - session->signal_s < SECOND_WITHIN_S) {
    session->signal_s = (double)NAN;
    event.signal.meaning = SR_SIGNAL_SLOWER;
    sr_session_report(session, event);
    const double bpm = session->click.bpm;
    sr_click_change_tempo(session, fmin(bpm, fmax(SLOWEST_BPM, SLOWER * bpm)));
  } else {
    session->signal_s = news->at_s;
    session->signal_rounds = session->rounds;
  }
}

void
sr_low_note_answer(SrSession* const session)
{
  const double waited_s = sr_session_now_s(session) - session->signal_s;
  if (!isfinite(session->signal_s) || waited_s <= SECOND_WITHIN_S) {
    return;
  }
  const bool in_round = sr_live_in_round(session->live);
  const bool is_late = waited_s > 2.0 * SECOND_WITHIN_S;
  if (sr_live_signal_sounds(session->live) || (in_round && !is_late)) {
    return; // a second signal may be under way, and a round that has begun may yet come to nothing
  }
  // A player who has played on is not waiting for the phrase; other sounds, such as talk, are
  // ignored
  const bool waits = !in_round && session->rounds == session->signal_rounds;
  session->signal_s = (double)NAN;
  if (waits) {
    sr_phrase_play(session);
  }
}
