// SPDX-License-Identifier: GPL-3.0-or-later

#include "room.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/audio.h>

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#define PI 3.14159265358979323846
/// Harmonics of a note.
#define HARMONICS 8

int
room_begin(Room* const room, const char* const abc)
{
  memset(room, 0, sizeof(*room));
  if (!server_begin(&room->server)) {
    return -1;
  }
  setenv("XDG_DATA_HOME", room->server.folder, 1);
  return sr_phrase_read_text(abc, strlen(abc), "room.abc", NULL, &room->phrase, NULL) == SR_OK ? 0
                                                                                               : -1;
}

int
room_end(Room* const room)
{
  sr_session_finish(room->session);
  sr_phrase_del(room->phrase);
  server_end(&room->server, SIGTERM);
  return 0;
}

void
room_open(Room* const room, const SrPhrase* const phrase, const SrSessionSettings* const settings)
{
  SrError error = {0};
  if (sr_session_new(phrase, settings, &room->session, &error) != SR_OK ||
      sr_session_start(room->session, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
}

bool
room_take_until(Room* const room, const SrSessionEventKind kind, const double until_s,
                SrSessionEvent* const event)
{
  while (sr_session_wait(room->session, ROOM_MOST_S)) {
    assert_true(sr_session_next(room->session, event));
    ++room->counts[event->kind];
    room->last_s = event->at_s;
    const bool found = event->kind == kind;
    sr_session_event_clear(event);
    if (found) {
      return true;
    }
    assert_int_not_equal(event->kind, SR_SESSION_END);
    if (event->at_s >= until_s) {
      return false;
    }
  }
  fail_msg("no event came in %.0f s", ROOM_MOST_S);
  return false;
}

SrSessionEvent
room_wait_for(Room* const room, const SrSessionEventKind kind)
{
  SrSessionEvent event = {.kind = SR_SESSION_END};
  if (!room_take_until(room, kind, room->last_s + ROOM_MOST_S, &event)) {
    fail_msg("event %d did not come", (int)kind);
  }
  return event;
}

bool
room_comes_within(Room* const room, const SrSessionEventKind kind, const double seconds)
{
  SrSessionEvent event;
  return room_take_until(room, kind, room->last_s + seconds, &event);
}

void
room_send(const Room* const room, const SrCommandKind kind, const double value)
{
  sr_session_send(room->session, (SrCommand){kind, value});
}

typedef struct {
  const RoomNote* notes;
  size_t count;
  size_t note;
  size_t at; ///< In the note
} Source;

static size_t
read_source(void* const context, float* const samples, const size_t room)
{
  Source* const s = (Source*)context;
  size_t given = 0;
  while (given < room && s->note < s->count) {
    const RoomNote* const note = &s->notes[s->note];
    const double age_s = (double)s->at / ROOM_RATE_HZ;
    const double left_s = note->length_s - age_s;
    const double level = fmax(0.0, fmin(1.0, fmin(age_s / 0.01, left_s / 0.02)));
    double sum = 0.0;
    for (int h = 1; note->hz > 0.0 && h <= HARMONICS; ++h) {
      sum += sin(2.0 * PI * h * note->hz * age_s) / h;
    }
    samples[given++] = (float)(0.1 * level * sum);
    ++s->at;
    if ((double)s->at >= note->length_s * ROOM_RATE_HZ) {
      s->at = 0;
      ++s->note;
    }
  }
  return given;
}

pid_t
room_play(Room* const room, const RoomNote* const notes, const size_t count)
{
  char* path = NULL;
  assert_true(asprintf(&path, "%s/played.wav", room->server.folder) > 0);
  Source source = {.notes = notes, .count = count};
  assert_int_equal(
      sr_audio_write(path, ROOM_RATE_HZ, SR_SAMPLES_16_BIT, read_source, &source, NULL), SR_OK);
  const char* const arguments[] = {"paplay", path, NULL};
  const pid_t player = program_begin(arguments);
  assert_true(player > 0);
  free(path);
  return player;
}

void
room_wait_played(const pid_t player)
{
  int status = -1;
  waitpid(player, &status, 0);
  assert_int_equal(status, 0);
}
