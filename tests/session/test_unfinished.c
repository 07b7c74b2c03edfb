// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_unfinished.c
   A round that the end of the session breaks off is kept with its take.
*/

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "room.h"

#include <steadyreed/audio.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Long enough that a few notes are no round, however late the end comes
static const char tune[] = "X:1\nT:Sixteen Bars\nM:2/4\nL:1/4\nQ:1/4=120\nK:D\n"
                           "AB|ce|AB|ce|AB|ce|AB|ce|dB|cA|dB|cA|dB|cA|dB|cA|]\n";

/// A4, B4, C sharp 5, E5, each 0.5 s.
static const RoomNote half[] = {{440.0, 0.5}, {493.88, 0.5}, {554.37, 0.5}, {659.26, 0.5},
                                {440.0, 0.5}, {493.88, 0.5}, {554.37, 0.5}, {659.26, 0.5}};

static int
begin(void** const state)
{
  static Room room;
  *state = &room;
  const int status = room_begin(&room, tune);
  setenv("XDG_DATA_HOME", room.server.folder, 1);
  return status;
}

static int
end(void** const state)
{
  return room_end((Room*)*state);
}

/// Play some notes, end the session, and take the event that says what came of it.
static SrSessionEvent
break_off(Room* const room, const size_t notes)
{
  SrSessionSettings settings = sr_session_settings_default();
  settings.silent = true;
  room_open(room, room->phrase, &settings);
  room_wait_for(room, SR_SESSION_LEVEL);
  const pid_t player = room_play(room, half, notes);
  for (size_t i = 0; i + 1 < notes; ++i) {
    room_wait_for(room, SR_SESSION_NOTE);
  }
  room_send(room, SR_COMMAND_END, 0.0);
  const SrSessionEvent nothing = room_wait_for(room, SR_SESSION_NOTHING);
  room_wait_played(player);
  return nothing;
}

static void
a_round_that_is_broken_off_is_kept(void** const state)
{
  Room* const room = (Room*)*state;
  const SrSessionEvent nothing = break_off(room, 6);
  assert_in_range(nothing.nothing.notes, 5, 6);
  const double seconds = nothing.nothing.end_s - nothing.nothing.start_s;
  assert_true(seconds > 1.5 && seconds < 4.0);
  const SrSessionEvent saved = room_wait_for(room, SR_SESSION_SAVED);
  SrTakeReader* reader = NULL;
  assert_int_equal(sr_take_reader_new(saved.saved.path, &reader, NULL), SR_OK);
  float samples[4096];
  size_t count = 0;
  float peak = 0.0f;
  for (size_t got; (got = sr_take_reader_read(reader, samples, 4096)) > 0; count += got) {
    for (size_t i = 0; i < got; ++i) {
      peak = samples[i] > peak ? samples[i] : peak;
    }
  }
  assert_true((double)count / sr_take_reader_rate_hz(reader) >= seconds);
  assert_true(peak > 0.01f);
  sr_take_reader_del(reader);
  room_wait_for(room, SR_SESSION_END);
  assert_int_equal(room->counts[SR_SESSION_ROUND], 0);
}

static void
a_note_that_was_tried_is_not(void** const state)
{
  Room* const room = (Room*)*state;
  const SrSessionEvent nothing = break_off(room, 3);
  assert_int_equal(nothing.nothing.notes, 0);
  room_wait_for(room, SR_SESSION_END);
  assert_int_equal(room->counts[SR_SESSION_SAVED], 0);
}

int
main(void)
{
  if (!has_program("pulseaudio") || !has_program("paplay")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(a_round_that_is_broken_off_is_kept, begin, end),
      cmocka_unit_test_setup_teardown(a_note_that_was_tried_is_not, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
