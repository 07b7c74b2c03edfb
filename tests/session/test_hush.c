// SPDX-License-Identifier: GPL-3.0-or-later

// What a front end may sound during a session: when it may, that the microphone is ignored then,
// and that a reed ends it.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/audio.h>
#include <steadyreed/session.h>

#include "sound_server.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

/// Most that one event may take, s.
#define MOST_S 30.0
#define RATE_HZ 44100.0
#define PI 3.14159265358979323846

/// Four notes, 2 s.
static const char tune[] = "X:1\nT:Four Notes\nM:2/4\nL:1/4\nQ:1/4=120\nK:D\nAB|AB|]\n";

typedef struct {
  SoundServer server;
  SrPhrase* phrase;
  SrSession* session;
  size_t notes;  ///< Reported so far
  double last_s; ///< When the last event happened
} Room;

static int
begin(void** const state)
{
  static Room room;
  memset(&room, 0, sizeof(room));
  *state = &room;
  if (!server_begin(&room.server)) {
    return -1;
  }
  setenv("XDG_DATA_HOME", room.server.folder, 1);
  return sr_phrase_read_text(tune, strlen(tune), "four.abc", NULL, &room.phrase, NULL) == SR_OK
             ? 0
             : -1;
}

static int
end(void** const state)
{
  Room* const room = (Room*)*state;
  sr_session_finish(room->session);
  sr_phrase_del(room->phrase);
  server_end(&room->server, SIGTERM);
  return 0;
}

static void
open_session(Room* const room, const bool silent, const bool tones)
{
  SrSessionSettings settings = sr_session_settings_default();
  settings.silent = silent;
  settings.tones = tones;
  settings.keeping = SR_KEEP_NOTHING;
  SrError error = {0};
  if (sr_session_new(room->phrase, &settings, &room->session, &error) != SR_OK ||
      sr_session_start(room->session, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
}

/// Take events until one of this kind, or until the session's clock is at `until_s`; whether the
/// event came, as `event`.
static bool
take_until(Room* const room, const SrSessionEventKind kind, const double until_s,
           SrSessionEvent* const event)
{
  while (sr_session_wait(room->session, MOST_S)) {
    assert_true(sr_session_next(room->session, event));
    assert_int_not_equal(event->kind, SR_SESSION_END);
    room->notes += event->kind == SR_SESSION_NOTE;
    room->last_s = event->at_s;
    const bool found = event->kind == kind;
    sr_session_event_clear(event);
    if (found) {
      return true;
    }
    if (event->at_s >= until_s) {
      return false;
    }
  }
  fail_msg("no event came in %.0f s", MOST_S);
  return false;
}

static SrSessionEvent
wait_for(Room* const room, const SrSessionEventKind kind)
{
  SrSessionEvent event = {.kind = SR_SESSION_END};
  if (!take_until(room, kind, room->last_s + MOST_S, &event)) {
    fail_msg("event %d did not come", (int)kind);
  }
  return event;
}

/// Let the session go on for a while; whether an event of this kind came.
static bool
comes_within(Room* const room, const SrSessionEventKind kind, const double seconds)
{
  SrSessionEvent event;
  return take_until(room, kind, room->last_s + seconds, &event);
}

static bool
ask(Room* const room)
{
  sr_session_send(room->session, (SrCommand){.kind = SR_COMMAND_HUSH_BEGIN});
  return wait_for(room, SR_SESSION_HUSH).hush.granted;
}

/// The phrase as reeds play it, or at the same pitches a voice that glides; with `again_s` over 0
/// once more, so long after the first time.
typedef struct {
  size_t at;
  double phase;
  bool glides;
  double again_s;
} Source;

static size_t
read_source(void* const context, float* const samples, const size_t count)
{
  Source* const s = (Source*)context;
  size_t given = 0;
  const double total_s = s->again_s > 0.0 ? 4.0 + s->again_s : 2.0;
  for (; given < count && s->at < (size_t)(total_s * RATE_HZ); ++given, ++s->at) {
    const double all_s = (double)s->at / RATE_HZ;
    const bool rests = all_s >= 2.0 && all_s < 2.0 + s->again_s;
    const double at_s = all_s < 2.0 ? all_s : all_s - 2.0 - s->again_s;
    const double part = rests ? 0.5 : fmod(at_s, 0.5);
    const double written_hz = fmod(at_s, 1.0) < 0.5 ? 440.0 : 493.88;
    // A semitone up and down, and half of one, within each note
    const double hz = s->glides ? written_hz * pow(2.0, (1.0 - 4.0 * part) / 12.0) : written_hz;
    s->phase += 2.0 * PI * hz / RATE_HZ;
    double sum = 0.0;
    for (int h = 1; h <= 8; ++h) {
      sum += sin(h * s->phase) / h;
    }
    const double level = part > 0.46 ? 0.0 : fmin(1.0, part / 0.01);
    samples[given] = (float)(0.1 * level * sum);
  }
  return given;
}

/// Play it to the sink; to be waited for.
static pid_t
play(Room* const room, const bool glides, const double again_s)
{
  char* path = NULL;
  assert_true(asprintf(&path, "%s/played.wav", room->server.folder) > 0);
  Source source = {.glides = glides, .again_s = again_s};
  assert_int_equal(sr_audio_write(path, RATE_HZ, SR_SAMPLES_16_BIT, read_source, &source, NULL),
                   SR_OK);
  const char* const arguments[] = {"paplay", path, NULL};
  const pid_t player = program_begin(arguments);
  assert_true(player > 0);
  free(path);
  return player;
}

static void
wait_played(const pid_t player)
{
  int status = -1;
  waitpid(player, &status, 0);
  assert_int_equal(status, 0);
}

/// What sounds in a hush is ignored, and when it is over the microphone counts again.
static void
what_sounds_is_ignored(void** const state)
{
  Room* const room = (Room*)*state;
  open_session(room, true, false);
  wait_for(room, SR_SESSION_READY);
  assert_false(comes_within(room, SR_SESSION_NOTE, 1.0));
  assert_true(ask(room));
  pid_t player = play(room, true, 0.0);
  assert_false(comes_within(room, SR_SESSION_HUSH, 2.8));
  wait_played(player);
  assert_int_equal(room->notes, 0);
  sr_session_send(room->session, (SrCommand){.kind = SR_COMMAND_HUSH_END});
  // Once more does nothing
  sr_session_send(room->session, (SrCommand){.kind = SR_COMMAND_HUSH_END});
  assert_false(comes_within(room, SR_SESSION_HUSH, 1.0));
  player = play(room, false, 0.0);
  const SrSessionEvent note = wait_for(room, SR_SESSION_NOTE);
  assert_int_equal(note.note.verdict.index, 0);
  wait_played(player);
}

/// A reed ends the hush, and its first note is judged though it sounded before that.
static void
a_reed_ends_it(void** const state)
{
  Room* const room = (Room*)*state;
  open_session(room, true, false);
  wait_for(room, SR_SESSION_READY);
  assert_false(comes_within(room, SR_SESSION_NOTE, 1.0));
  assert_true(ask(room));
  assert_false(comes_within(room, SR_SESSION_HUSH, 0.7));
  const pid_t player = play(room, false, 0.0);
  assert_false(wait_for(room, SR_SESSION_HUSH).hush.granted);
  SrSessionEvent round = {.kind = SR_SESSION_END};
  while (sr_session_wait(room->session, MOST_S) && round.kind != SR_SESSION_ROUND) {
    assert_true(sr_session_next(room->session, &round));
    if (round.kind == SR_SESSION_HUSH || round.kind == SR_SESSION_NOTHING) {
      fail_msg("event %d came instead of a round", (int)round.kind);
    }
    if (round.kind != SR_SESSION_ROUND) {
      sr_session_event_clear(&round);
    }
  }
  assert_int_equal(round.kind, SR_SESSION_ROUND);
  const SrRound* const judged = &round.round.assessment->rounds[0];
  assert_int_equal(judged->note_count, 4);
  for (size_t i = 0; i < 4; ++i) {
    assert_int_equal(judged->notes[i].status, SR_NOTE_PLAYED);
    // 0.5 s apart, so the first did not lose its beginning
    assert_true(fabs(judged->notes[i].offset_ms) < 10.0);
  }
  sr_session_event_clear(&round);
  wait_played(player);
}

/// Playing begins in the middle of the tone for the round before, and is judged whole.
static void
playing_into_the_tone(void** const state)
{
  Room* const room = (Room*)*state;
  open_session(room, false, true);
  wait_for(room, SR_SESSION_COUNT_IN);
  wait_for(room, SR_SESSION_COUNT_IN);
  const pid_t player = play(room, false, 0.55);
  size_t rounds = 0;
  for (SrSessionEvent event; rounds < 2 && sr_session_wait(room->session, MOST_S);) {
    assert_true(sr_session_next(room->session, &event));
    if (event.kind == SR_SESSION_ROUND) {
      const SrRound* const judged = &event.round.assessment->rounds[0];
      for (size_t i = 0; i < 4; ++i) {
        assert_int_equal(judged->notes[i].status, SR_NOTE_PLAYED);
      }
      const double first_s = judged->notes[1].onset_s - judged->notes[0].onset_s;
      print_message("round %zu: first note %.3f s, %.1f dB\n", rounds, first_s,
                    judged->notes[0].level_db);
      assert_true(fabs(first_s - 0.5) < 0.03);
      ++rounds;
    }
    sr_session_event_clear(&event);
  }
  assert_int_equal(rounds, 2);
  wait_played(player);
}

/// Not while the player plays, nor in a count-in; a count-in ends it.
static void
not_while_anyone_plays(void** const state)
{
  Room* const room = (Room*)*state;
  open_session(room, false, false);
  assert_int_equal(wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
  assert_false(ask(room));
  assert_int_equal(wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 2);
  assert_false(comes_within(room, SR_SESSION_HUSH, 0.5));
  assert_true(ask(room));
  sr_session_send(room->session, (SrCommand){SR_COMMAND_TEMPO, 150.0});
  assert_false(wait_for(room, SR_SESSION_HUSH).hush.granted);
  wait_for(room, SR_SESSION_COUNT_IN);
  wait_for(room, SR_SESSION_COUNT_IN);
  assert_false(comes_within(room, SR_SESSION_HUSH, 1.0));
  const pid_t player = play(room, false, 0.0);
  wait_for(room, SR_SESSION_NOTE);
  assert_false(ask(room));
  wait_played(player);
}

/// Without a phrase nothing may sound.
static void
not_without_a_phrase(void** const state)
{
  Room* const room = (Room*)*state;
  SrPhrase* const phrase = room->phrase;
  room->phrase = NULL;
  open_session(room, true, false);
  room->phrase = phrase;
  assert_false(ask(room));
}

int
main(void)
{
  if (!has_program("pulseaudio") || !has_program("paplay")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(what_sounds_is_ignored, begin, end),
      cmocka_unit_test_setup_teardown(a_reed_ends_it, begin, end),
      cmocka_unit_test_setup_teardown(playing_into_the_tone, begin, end),
      cmocka_unit_test_setup_teardown(not_while_anyone_plays, begin, end),
      cmocka_unit_test_setup_teardown(not_without_a_phrase, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
