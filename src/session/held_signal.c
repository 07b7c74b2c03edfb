// SPDX-License-Identifier: GPL-3.0-or-later

// The low note while it is held: the front end can show it, and a tone says when it has been held
// for long enough. The microphone is ignored while the tone sounds, about half a second, and the
// note is taken to go on if it sounds again after that.

#include "session_state.h"

#include <math.h>
#include <stdlib.h>

/// A note held for less than this, s, is not shown yet.
#define SHOWN_S 0.3
/// Interval between events, s.
#define SHOWN_EVERY_S 0.1
/// Longest tone, s.
#define TONE_S 0.3
/// A tone that does not begin to sound within this, s, never will.
#define MOST_WAIT_S 2.0
/// The room's echo of a tone, s, beyond the way of the sound.
#define ECHO_S 0.15

bool
sr_held_signal_tone_sounds(const SrSession* const session)
{
  return session->read < session->held.muted_until;
}

/// Begin a tone; false if something else sounds, and it must wait.
static bool
begin_tone(SrSession* const session, const bool ends)
{
  SrHeldSignal* const held = &session->held;
  if (sr_stream_unplayed(session->stream) > 0) {
    return false;
  }
  const size_t room = (size_t)ceil(TONE_S * session->rate_hz);
  float* const tone = (float*)malloc(room * sizeof(float));
  const size_t count = tone ? sr_sound_signal(session->rate_hz, ends, tone, room) : 0;
  for (size_t i = 0; i < count; ++i) {
    tone[i] *= (float)session->settings.click_volume;
  }
  if (count && session->settings.click_volume > 0.0) {
    held->tone_count = sr_stream_play(session->stream, tone, count);
    held->muted_from = session->read;
    held->muted_until = UINT64_MAX;
    sr_live_signal_covered(session->live, sr_session_now_s(session), (double)INFINITY);
  }
  free(tone);
  return true;
}

/// The tone is over when its last sample was handed to the device and has had time to sound.
static void
follow_tone(SrSession* const session)
{
  SrHeldSignal* const held = &session->held;
  if (held->muted_until != UINT64_MAX) {
    return;
  }
  const bool late = (double)(session->read - held->muted_from) > MOST_WAIT_S * session->rate_hz;
  uint64_t frame = session->read;
  if (sr_stream_play_began(session->stream, &frame) || late) {
    const double after_s = 2.0 * SR_OUTPUT_LATENCY_S + ECHO_S;
    held->muted_until = frame + held->tone_count + (uint64_t)(after_s * session->rate_hz);
    sr_live_signal_covered(session->live, (double)held->muted_from / session->rate_hz,
                           (double)held->muted_until / session->rate_hz);
  }
}

static void
show(SrSession* const session, const double held_s)
{
  const double now_s = sr_session_now_s(session);
  const SrSignalMeaning meaning =
      held_s > 0.0 ? sr_low_note_meaning(session, now_s - held_s, held_s) : SR_SIGNAL_SHORT;
  session->held.shown = held_s > 0.0;
  session->held.shown_s = now_s;
  sr_session_report(
      session, (SrSessionEvent){.kind = SR_SESSION_SIGNAL_HELD, .signal_held = {held_s, meaning}});
}

void
sr_held_signal_follow(SrSession* const session)
{
  SrHeldSignal* const held = &session->held;
  follow_tone(session);
  const double held_s = sr_live_signal_held_s(session->live);
  if (held_s <= 0.0) {
    held->tones = 0;
    if (held->shown) {
      show(session, 0.0);
    }
    return;
  }
  if (held_s >= SHOWN_S &&
      (!held->shown || sr_session_now_s(session) - held->shown_s >= SHOWN_EVERY_S)) {
    show(session, held_s);
  }
  const double enough_s = sr_live_settings_default().signal_held_s;
  const unsigned due = held_s >= SR_SIGNAL_END_S ? 2 : held_s >= enough_s ? 1 : 0;
  if (due > held->tones && !session->settings.silent && begin_tone(session, due == 2)) {
    held->tones = due;
  }
}

void
sr_held_signal_silence(const SrSession* const session, float* const samples, const size_t count)
{
  const SrHeldSignal* const held = &session->held;
  const uint64_t from = session->read > held->muted_from ? session->read : held->muted_from;
  const uint64_t end = session->read + count;
  const uint64_t until = held->muted_until < end ? held->muted_until : end;
  if (from < until) {
    sr_session_silence(samples + (from - session->read), (size_t)(until - from));
  }
}
