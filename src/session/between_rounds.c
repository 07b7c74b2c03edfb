// SPDX-License-Identifier: GPL-3.0-or-later

#include "session_state.h"

#include <math.h>
#include <stdlib.h>

/// Input is held back this long in a hush, s; a reed is found within 0.2 s of its beginning.
#define HELD_S 0.5
/// Playing that is found began as much earlier as its partials were steady, and this, s, for those
/// that the voice covered; at most FOUND_WITHIN_S before.
#define COVERED_S 0.12
#define FOUND_WITHIN_S 0.3
/// The microphone is ignored for this long after something sounded, s: the way of the sound, and
/// the room's echo of it.
#define TAIL_S 0.4
/// The player may go on at once if a note sounded this recently, s.
#define JUST_PLAYED_S 0.35
/// If nothing could begin for this long, s, it is too late for it.
#define MOST_WAIT_S 2.0
/// Longest hush, s: a front end that forgets to end it must not keep the session deaf.
#define MOST_HUSH_S 30.0
/// The loudest partial of a note is at least this loud against the softest note of the round
/// before, dB; a fan or a hum is softer.
#define REED_DB (-12.0)
/// Longest tone, samples.
#define TONE_SAMPLES 96000u

bool
sr_between_begin(SrSession* const session)
{
  SrBetween* const b = &session->between;
  b->room = (size_t)(HELD_S * session->rate_hz) + (size_t)2 * SR_SESSION_CHUNK;
  b->held = (float*)malloc(b->room * sizeof(float));
  b->softest_db = (double)NAN;
  b->partials = sr_steady_partials_new(session->rate_hz);
  return b->held && b->partials;
}

void
sr_between_clear(SrSession* const session)
{
  sr_steady_partials_del(session->between.partials);
  free(session->between.held);
}

static uint64_t
samples_in(const SrSession* const session, const double seconds)
{
  return (uint64_t)(seconds * session->rate_hz);
}

/// Whether samples that arrive now are ignored.
static bool
is_hushed(const SrBetween* const b)
{
  return b->arrived < b->deaf_until;
}

static void
tell(SrSession* const session, const bool granted)
{
  session->between.granted = granted;
  sr_session_report(session,
                    (SrSessionEvent){.kind = SR_SESSION_HUSH, .hush = {.granted = granted}});
}

static void
begin_hush(SrSession* const session)
{
  SrBetween* const b = &session->between;
  if (!is_hushed(b)) {
    sr_steady_partials_reset(b->partials,
                             isfinite(b->softest_db) ? b->softest_db + REED_DB : (double)-INFINITY);
    b->began = b->arrived;
  }
  b->deaf_until = UINT64_MAX;
}

/// End a hush at a sample; the front end must stop.
static void
end_hush(SrSession* const session, const uint64_t deaf_until)
{
  SrBetween* const b = &session->between;
  b->deaf_until = deaf_until;
  if (b->granted || b->asked) {
    b->asked = false;
    tell(session, false);
  }
}

/// Whether something may sound now: nobody plays, no count-in and no phrase.
typedef enum { SOUND_NEVER, SOUND_LATER, SOUND_NOW } MaySound;

static MaySound
may_sound(const SrSession* const session)
{
  const SrBetween* const b = &session->between;
  const SrClickTrack* const click = &session->click;
  const bool counts_in = click->running && click->counted < click->count_in;
  if (!session->live || session->playing.active || counts_in || sr_live_in_round(session->live) ||
      sr_live_signal_sounds(session->live) ||
      b->arrived - b->wanted > samples_in(session, MOST_WAIT_S)) {
    return SOUND_NEVER;
  }
  // A round is over as soon as its last note is, but the player may go on. What is held of an
  // earlier hush may be playing too
  const bool drained = b->count == 0 || is_hushed(b);
  const double rest_s = sr_session_now_s(session) - sr_live_last_note_s(session->live);
  return drained && rest_s > JUST_PLAYED_S ? SOUND_NOW : SOUND_LATER;
}

void
sr_between_ask(SrSession* const session)
{
  SrBetween* const b = &session->between;
  b->wanted = b->tone_due ? b->wanted : b->arrived;
  b->asked = true;
}

void
sr_between_end(SrSession* const session)
{
  SrBetween* const b = &session->between;
  b->asked = false;
  if (b->granted) {
    b->granted = false;
    b->deaf_until = b->arrived + samples_in(session, TAIL_S);
  }
}

void
sr_between_break(SrSession* const session)
{
  SrBetween* const b = &session->between;
  b->tone_until = 0;
  b->tone_due = false;
  if (is_hushed(b) || b->asked) {
    end_hush(session, b->arrived + samples_in(session, TAIL_S));
  }
}

bool
sr_between_tone_sounds(const SrSession* const session)
{
  const SrBetween* const b = &session->between;
  return b->tone_due || b->arrived < b->tone_until;
}

/// Begin the tone for a round.
static void
play_tone(SrSession* const session, const bool clean)
{
  float tone[SR_SESSION_CHUNK];
  float* const all = (float*)malloc(TONE_SAMPLES * sizeof(float));
  const size_t count = all ? sr_sound_verdict(session->rate_hz, clean, all, TONE_SAMPLES) : 0;
  for (size_t at = 0; at < count; at += SR_SESSION_CHUNK) {
    const size_t part = count - at < SR_SESSION_CHUNK ? count - at : SR_SESSION_CHUNK;
    for (size_t i = 0; i < part; ++i) {
      tone[i] = (float)session->settings.click_volume * all[at + i];
    }
    sr_stream_play(session->stream, tone, part);
  }
  free(all);
  if (count) {
    begin_hush(session);
    session->between.tone_until = UINT64_MAX;
  }
}

void
sr_between_round(SrSession* const session, const SrRound* const round)
{
  SrBetween* const b = &session->between;
  for (size_t i = 0; i < round->note_count; ++i) {
    const double level_db = round->notes[i].level_db;
    b->softest_db = i == 0 ? (double)NAN : b->softest_db;
    b->softest_db = isfinite(level_db) ? fmin(b->softest_db, level_db) : b->softest_db;
  }
  if (session->settings.tones && !session->settings.silent && !session->over) {
    b->tone_due = true;
    b->clean = round->clean;
    b->wanted = b->arrived;
  }
}

/// The tone is over when its last sample was handed over and has had time to sound.
static void
follow_tone(SrSession* const session)
{
  SrBetween* const b = &session->between;
  if (b->tone_until == UINT64_MAX && sr_stream_unplayed(session->stream) == 0) {
    b->tone_until = b->arrived + samples_in(session, 2.0 * SR_OUTPUT_LATENCY_S);
    if (b->deaf_until == UINT64_MAX) {
      b->deaf_until = b->tone_until + samples_in(session, TAIL_S);
    }
  }
}

/// Begin what is wanted, the tone first, or give it up.
static void
begin_next(SrSession* const session)
{
  SrBetween* const b = &session->between;
  const MaySound may = may_sound(session);
  if (may == SOUND_NEVER) {
    b->tone_due = false;
    if (b->asked) {
      b->asked = false;
      tell(session, false);
    }
  } else if (may == SOUND_NOW && b->tone_due) {
    b->tone_due = false;
    play_tone(session, b->clean);
  } else if (may == SOUND_NOW) {
    b->asked = false;
    begin_hush(session);
    tell(session, true);
  }
}

void
sr_between_follow(SrSession* const session)
{
  SrBetween* const b = &session->between;
  follow_tone(session);
  if (is_hushed(b)) {
    b->last_s = sr_session_now_s(session);
  }
  if (b->tone_due || (b->asked && !sr_between_tone_sounds(session))) {
    begin_next(session);
  }
  if (b->deaf_until == UINT64_MAX && b->arrived - b->began > samples_in(session, MOST_HUSH_S)) {
    end_hush(session, b->arrived);
  }
}

/// Look for a reed in what has arrived; it ends the hush, from before it was found. A tone, which
/// is short, sounds to its end.
static void
watch(SrSession* const session, const float* const samples, const size_t count)
{
  SrBetween* const b = &session->between;
  const uint64_t sounded = sr_steady_partials_push(b->partials, samples, count);
  if (sounded) {
    const uint64_t most = samples_in(session, FOUND_WITHIN_S);
    const uint64_t began = sounded + samples_in(session, b->granted ? COVERED_S : 0.0);
    const uint64_t back = began < most ? began : most;
    end_hush(session, b->arrived > b->began + back ? b->arrived - back : b->began);
  }
}

size_t
sr_between_read(SrSession* const session, float* const samples)
{
  SrBetween* const b = &session->between;
  if (!session->live || (b->count == 0 && !is_hushed(b))) {
    const size_t got = sr_stream_read(session->stream, samples, SR_SESSION_CHUNK);
    b->arrived += got;
    return got;
  }
  const size_t space = b->room - b->count;
  const size_t got =
      sr_stream_read(session->stream, samples, space < SR_SESSION_CHUNK ? space : SR_SESSION_CHUNK);
  for (size_t i = 0; i < got; ++i) {
    b->held[(b->first + b->count + i) % b->room] = samples[i];
  }
  b->count += got;
  b->arrived += got;
  if (got && is_hushed(b)) {
    watch(session, samples, got);
  }
  const size_t kept = is_hushed(b) ? (size_t)samples_in(session, HELD_S) : 0;
  const size_t due = b->count > kept ? b->count - kept : 0;
  const size_t given = due < SR_SESSION_CHUNK ? due : SR_SESSION_CHUNK;
  for (size_t i = 0; i < given; ++i) {
    samples[i] = b->held[(b->first + i) % b->room];
  }
  b->first = (b->first + given) % b->room;
  b->count -= given;
  return given;
}

void
sr_between_silence(const SrSession* const session, float* const samples, const size_t count)
{
  const SrBetween* const b = &session->between;
  const uint64_t from = session->read > b->began ? session->read : b->began;
  const uint64_t end = session->read + count;
  const uint64_t until = b->deaf_until < end ? b->deaf_until : end;
  if (from < until) {
    sr_session_silence(samples + (from - session->read), (size_t)(until - from));
  }
}
