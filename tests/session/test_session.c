// SPDX-License-Identifier: GPL-3.0-or-later

// A session without any front end, on a sound server of its own: what it reports, in which order,
// and that commands are done.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/audio.h>
#include <steadyreed/recording.h>
#include <steadyreed/session.h>
#include <steadyreed/take_note.h>

#include "sound_server.h"

#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/// Most that a whole session may take; one that never ends would fail the test only later.
#define MOST_S 60.0
#define MOST_EVENTS 4096u
#define RATE_HZ 44100.0
#define PI 3.14159265358979323846

/// Four bars of two pulses, 2 s.
static const char tune[] = "X:1\nT:Four Bars\nM:2/4\nL:1/4\nQ:1/4=240\nK:D\nAB|AB|AB|AB|]\n";

typedef struct {
  SoundServer server;
  SrPhrase* phrase;
  SrSession* session;
  SrSessionEvent events[MOST_EVENTS]; ///< All but levels
  size_t count;
  size_t levels;
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
  for (size_t i = 0; i < room->count; ++i) {
    sr_session_event_clear(&room->events[i]);
  }
  sr_session_finish(room->session);
  sr_phrase_del(room->phrase);
  server_end(&room->server, SIGTERM);
  return 0;
}

static void
open_session(Room* const room, const SrPhrase* const phrase,
             const SrSessionSettings* const settings)
{
  SrError error = {0};
  if (sr_session_new(phrase, settings, &room->session, &error) != SR_OK ||
      sr_session_start(room->session, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
}

/// Take events until one of this kind has come; it is the last of those kept. The descriptor of the
/// session says when there are any.
static const SrSessionEvent*
wait_for(Room* const room, const SrSessionEventKind kind)
{
  struct pollfd descriptor = {sr_session_descriptor(room->session), POLLIN, 0};
  while (poll(&descriptor, 1, (int)(1000.0 * MOST_S)) == 1) {
    SrSessionEvent event;
    assert_true(sr_session_next(room->session, &event));
    room->levels += event.kind == SR_SESSION_LEVEL;
    if (event.kind == SR_SESSION_LEVEL && kind != SR_SESSION_LEVEL) {
      continue;
    }
    assert_true(room->count < MOST_EVENTS);
    room->events[room->count++] = event;
    if (event.kind == kind) {
      return &room->events[room->count - 1];
    }
    assert_int_not_equal(event.kind, SR_SESSION_END);
  }
  fail_msg("no event came in %.0f s", MOST_S);
  return NULL;
}

static size_t
count_of(const Room* const room, const SrSessionEventKind kind)
{
  size_t count = 0;
  for (size_t i = 0; i < room->count; ++i) {
    count += room->events[i].kind == kind;
  }
  return count;
}

/// The click is counted in, another tempo is counted in again, the phrase is played on request, and
/// it ends when it is asked to, without a file.
static void
commands_are_done(void** const state)
{
  Room* const room = (Room*)*state;
  const SrSessionSettings settings = sr_session_settings_default();
  open_session(room, room->phrase, &settings);
  assert_null(sr_session_profile(room->session, false));
  const SrSessionEvent* const ready = wait_for(room, SR_SESSION_READY);
  assert_int_equal(room->count, 1);
  assert_true(strlen(ready->ready.input) > 0 && strlen(ready->ready.output) > 0);
  assert_true(fabs(ready->ready.bpm - 240.0) < 1e-9);
  char* const path = strdup(ready->ready.path);
  struct stat facts;
  assert_int_equal(stat(path, &facts), 0);
  assert_int_equal(facts.st_mode & 0777, 0600);

  for (unsigned i = 1; i <= 2; ++i) {
    const SrSessionEvent* const click = wait_for(room, SR_SESSION_COUNT_IN);
    assert_int_equal(click->count_in.number, i);
    assert_int_equal(click->count_in.total, 2);
  }
  // As a player who turns a knob: more of them than there may be clicks that still sound
  for (unsigned i = 0; i < 12; ++i) {
    sr_session_send(room->session, (SrCommand){SR_COMMAND_TEMPO, 150.0 + i});
    assert_true(fabs(wait_for(room, SR_SESSION_TEMPO)->bpm - 150.0 - i) < 1e-9);
  }
  // Out of range it does nothing
  sr_session_send(room->session, (SrCommand){SR_COMMAND_TEMPO, 1e6});
  sr_session_send(room->session, (SrCommand){SR_COMMAND_TEMPO, 200.0});
  assert_true(fabs(wait_for(room, SR_SESSION_TEMPO)->bpm - 200.0) < 1e-9);
  assert_int_equal(wait_for(room, SR_SESSION_COUNT_IN)->count_in.number, 1);
  const double first_s = room->events[room->count - 1].at_s;
  assert_int_equal(wait_for(room, SR_SESSION_COUNT_IN)->count_in.number, 2);
  // 0.3 s apart, reported when the samples are there
  assert_true(fabs(room->events[room->count - 1].at_s - first_s - 0.3) < 0.15);

  sr_session_send(room->session, (SrCommand){.kind = SR_COMMAND_PLAY_PHRASE});
  assert_true(fabs(wait_for(room, SR_SESSION_PLAYING)->bpm - 200.0) < 1e-9);
  const double played_s = room->events[room->count - 1].at_s;
  // The click begins again behind it: eight notes at 200 a minute
  assert_int_equal(wait_for(room, SR_SESSION_COUNT_IN)->count_in.number, 1);
  assert_true(room->events[room->count - 1].at_s - played_s > 8.0 * 0.3);
  // What is played to the player is not taken for playing
  assert_int_equal(count_of(room, SR_SESSION_NOTE), 0);
  assert_int_equal(count_of(room, SR_SESSION_TEMPO), 13);

  sr_session_send(room->session, (SrCommand){.kind = SR_COMMAND_END});
  const SrSessionEvent* const stopped = wait_for(room, SR_SESSION_STOPPED);
  assert_int_equal(stopped->stopped.reason, SR_END_COMMAND);
  assert_int_equal(stopped->stopped.rounds, 0);
  wait_for(room, SR_SESSION_END);
  assert_int_equal(count_of(room, SR_SESSION_SAVED), 0);
  assert_int_equal(count_of(room, SR_SESSION_TROUBLE), 0);
  assert_int_not_equal(stat(path, &facts), 0);
  assert_true(room->levels > 10);
  assert_false(sr_session_wait(room->session, 0.0));
  // Nobody listens any more
  sr_session_send(room->session, (SrCommand){.kind = SR_COMMAND_END});
  free(path);
}

/// All is kept if that was asked for, and named when it is whole.
static void
a_take_is_saved(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = sr_session_settings_default();
  settings.silent = true;
  settings.keeping = SR_KEEP_ALL;
  open_session(room, room->phrase, &settings);
  assert_string_equal(wait_for(room, SR_SESSION_READY)->ready.output, "");
  wait_for(room, SR_SESSION_LEVEL);
  // Not without an output
  sr_session_send(room->session, (SrCommand){.kind = SR_COMMAND_PLAY_PHRASE});
  sr_session_send(room->session, (SrCommand){.kind = SR_COMMAND_END});
  const SrSessionEvent* const saved = wait_for(room, SR_SESSION_SAVED);
  assert_int_equal(access(saved->saved.path, R_OK), 0);
  SrTakeNote note;
  char text[SR_TAKE_NOTE_SIZE];
  assert_int_equal(sr_recording_note(saved->saved.path, text, NULL), SR_OK);
  assert_true(sr_take_note_read(text, &note));
  assert_string_equal(note.phrase, "Four Bars");
  wait_for(room, SR_SESSION_END);
  assert_int_equal(count_of(room, SR_SESSION_STOPPED), 1);
  assert_int_equal(count_of(room, SR_SESSION_PLAYING), 0);
}

/// An A4 of some harmonics, 1.5 s.
typedef struct {
  size_t at;
} Tone;

static size_t
read_tone(void* const context, float* const samples, const size_t count)
{
  Tone* const tone = (Tone*)context;
  size_t given = 0;
  for (; given < count && tone->at < (size_t)(1.5 * RATE_HZ); ++given, ++tone->at) {
    double sum = 0.0;
    for (int h = 1; h <= 8; ++h) {
      sum += sin(2.0 * PI * 440.0 * h * (double)tone->at / RATE_HZ) / h;
    }
    samples[given] = (float)(0.1 * sum);
  }
  return given;
}

/// Without a phrase notes are reported; the server's death is trouble, and still ends in order.
static void
free_until_the_server_dies(void** const state)
{
  Room* const room = (Room*)*state;
  open_session(room, NULL, NULL);
  const SrSessionEvent* const ready = wait_for(room, SR_SESSION_READY);
  assert_null(ready->ready.path);
  assert_true(isnan(ready->ready.bpm));
  char* path = NULL;
  assert_true(asprintf(&path, "%s/note.wav", room->server.folder) > 0);
  Tone tone = {0};
  assert_int_equal(sr_audio_write(path, RATE_HZ, SR_SAMPLES_16_BIT, read_tone, &tone, NULL), SR_OK);
  const char* const play[] = {"paplay", path, NULL};
  const pid_t player = program_begin(play);
  const SrSessionEvent* const heard = wait_for(room, SR_SESSION_HEARD);
  assert_int_equal(heard->heard.midi, 69);
  int status = -1;
  waitpid(player, &status, 0);
  server_end(&room->server, SIGKILL);
  const SrSessionEvent* const trouble = wait_for(room, SR_SESSION_TROUBLE);
  assert_int_equal(trouble->trouble.error.status, SR_DEVICE_TROUBLE);
  assert_false(trouble->trouble.saving);
  assert_int_equal(wait_for(room, SR_SESSION_STOPPED)->stopped.reason, SR_END_TROUBLE);
  wait_for(room, SR_SESSION_END);
  SrProfile* const profile = sr_session_profile(room->session, true);
  assert_non_null(profile);
  sr_profile_del(profile);
  free(path);
}

/// A session that is given up while it runs ends by itself and leaves no file.
static void
given_up(void** const state)
{
  Room* const room = (Room*)*state;
  open_session(room, room->phrase, NULL);
  char* const path = strdup(wait_for(room, SR_SESSION_READY)->ready.path);
  sr_session_finish(room->session);
  room->session = NULL;
  assert_int_not_equal(access(path, F_OK), 0);
  free(path);
}

static void
what_cannot_be_opened(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = sr_session_settings_default();
  SrError error = {0};
  settings.judge.target_bpm = 5.0;
  assert_int_equal(sr_session_new(room->phrase, &settings, &room->session, &error),
                   SR_BAD_ARGUMENT);
  assert_null(room->session);
  assert_non_null(strstr(error.message, "5 pulses a minute"));
  settings = sr_session_settings_default();
  settings.stream.input = "no such thing";
  assert_int_equal(sr_session_new(room->phrase, &settings, &room->session, &error), SR_NOT_FOUND);
  assert_null(room->session);
}

int
main(void)
{
  if (!has_program("pulseaudio") || !has_program("paplay")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(commands_are_done, begin, end),
      cmocka_unit_test_setup_teardown(a_take_is_saved, begin, end),
      cmocka_unit_test_setup_teardown(free_until_the_server_dies, begin, end),
      cmocka_unit_test_setup_teardown(given_up, begin, end),
      cmocka_unit_test_setup_teardown(what_cannot_be_opened, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
