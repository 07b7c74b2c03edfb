// SPDX-License-Identifier: GPL-3.0-or-later

// A session that is begun, stopped and changed without a hand: what the click waits for, the low
// note while it is held, a pedal's commands.

#include "room.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

/// Two bars of two pulses, 2 s, and D is the ready note.
static const char tune[] = "X:1\nT:Four Notes\nM:2/4\nL:1/4\nQ:1/4=120\nK:D\nAB|AB|]\n";
#define READY 62
/// A low note held for this long, s, ends the session.
#define SIGNAL_ENDS_S 4.0
#define A_HZ 440.0
#define B_HZ 493.88
static const RoomNote four[] = {{A_HZ, 0.5}, {B_HZ, 0.5}, {A_HZ, 0.5}, {B_HZ, 0.5}};
#define FOUR (sizeof(four) / sizeof(four[0]))

static int
begin(void** const state)
{
  static Room room;
  *state = &room;
  return room_begin(&room, tune);
}

static int
end(void** const state)
{
  return room_end((Room*)*state);
}

static SrSessionSettings
settings_that_keep_nothing(void)
{
  SrSessionSettings settings = sr_session_settings_default();
  settings.keeping = SR_KEEP_NOTHING;
  return settings;
}

/// It is silent until the ready note, in any octave, is over; then it counts in.
static void
waits_for_the_ready_note(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = settings_that_keep_nothing();
  settings.ready_midi = READY;
  room_open(room, room->phrase, &settings);
  const SrSessionEvent waiting = room_wait_for(room, SR_SESSION_WAITING);
  assert_false(waiting.waiting.over);
  assert_int_equal(waiting.waiting.midi, READY);
  assert_true(isnan(waiting.waiting.left_s));
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 2.5));
  // Another note is none
  static const RoomNote other[] = {{A_HZ, 0.8}, {0.0, 1.0}};
  room_wait_played(room_play(room, other, 2));
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 0.5));
  static const RoomNote ready[] = {{587.33, 0.8}, {0.0, 0.2}};
  const pid_t player = room_play(room, ready, 2);
  assert_true(room_wait_for(room, SR_SESSION_WAITING).waiting.over);
  const double known_s = room->last_s;
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
  assert_true(room->last_s - known_s < 3.0);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 2);
  room_wait_played(player);
  assert_int_equal(room->counts[SR_SESSION_ROUND], 0);
}

/// It waits for so long, and says how long; what is played makes it wait again; a pedal ends it.
static void
waits_for_a_while(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = settings_that_keep_nothing();
  settings.start_wait_s = 3.0;
  room_open(room, room->phrase, &settings);
  double left_s = 3.0;
  while (room->counts[SR_SESSION_COUNT_IN] == 0) {
    const SrSessionEvent waiting = room_wait_for(room, SR_SESSION_WAITING);
    assert_int_equal(waiting.waiting.midi, -1);
    if (waiting.waiting.over) {
      break;
    }
    assert_true(waiting.waiting.left_s <= left_s);
    left_s = waiting.waiting.left_s - 0.8;
  }
  assert_true(fabs(room->last_s - 3.0) < 0.1);
  assert_int_equal(room->counts[SR_SESSION_WAITING], 4);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
}

/// The silence of the wait does not end the session; that behind it does.
static void
silence_while_it_waits(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = settings_that_keep_nothing();
  settings.start_wait_s = 4.0;
  settings.first_wait_s = 1.5;
  room_open(room, room->phrase, &settings);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
  assert_true(room->last_s > 3.9);
  const SrSessionEvent stopped = room_wait_for(room, SR_SESSION_STOPPED);
  assert_int_equal(stopped.stopped.reason, SR_END_SILENCE);
  assert_true(room->last_s > 5.4 && room->last_s < 6.5);
}

/// A round that is just played is judged without the click, and then it waits again; a pedal counts
/// in at once.
static void
just_played(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = settings_that_keep_nothing();
  settings.start_wait_s = 6.0;
  room_open(room, room->phrase, &settings);
  room_wait_for(room, SR_SESSION_WAITING);
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 1.0));
  const pid_t player = room_play(room, four, FOUR);
  room_wait_for(room, SR_SESSION_ROUND);
  room_wait_played(player);
  assert_int_equal(room->counts[SR_SESSION_COUNT_IN], 0);
  assert_false(room_wait_for(room, SR_SESSION_WAITING).waiting.over);
  // Six seconds after the last note, which was over three seconds ago at most
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 2.0));
  room_send(room, SR_COMMAND_COUNT_IN, 0.0);
  assert_true(room_wait_for(room, SR_SESSION_WAITING).waiting.over);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
  // Pressed twice it is still the same count-in
  room_send(room, SR_COMMAND_COUNT_IN, 0.0);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 2);
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 1.5));
  // Past it, it begins again
  room_send(room, SR_COMMAND_COUNT_IN, 0.0);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
}

/// After each round the click is silent, then counts in again.
static void
counts_in_each(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = settings_that_keep_nothing();
  settings.count_in_each = true;
  room_open(room, room->phrase, &settings);
  for (int round = 0; round < 2; ++round) {
    assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
    assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 2);
    const pid_t player = room_play(room, four, FOUR);
    room_wait_for(room, SR_SESSION_ROUND);
    const double round_s = room->last_s;
    assert_false(room_wait_for(room, SR_SESSION_WAITING).waiting.over);
    assert_true(room_wait_for(room, SR_SESSION_WAITING).waiting.left_s <= 2.0);
    room_wait_played(player);
    while (!room_wait_for(room, SR_SESSION_WAITING).waiting.over) {
    }
    assert_true(room->last_s - round_s > 1.5 && room->last_s - round_s < 2.6);
  }
}

/// The click off and on, and its volume.
static void
click_off_and_on(void** const state)
{
  Room* const room = (Room*)*state;
  const SrSessionSettings settings = settings_that_keep_nothing();
  room_open(room, room->phrase, &settings);
  room_wait_for(room, SR_SESSION_COUNT_IN);
  room_wait_for(room, SR_SESSION_COUNT_IN);
  room_send(room, SR_COMMAND_CLICK, 0.0);
  room_send(room, SR_COMMAND_COUNT_IN, 0.0);
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 1.0));
  // The sink's monitor hears the click: now there is none
  float loudest = 0.0f;
  for (int i = 0; i < 15; ++i) {
    loudest = fmaxf(loudest, room_wait_for(room, SR_SESSION_LEVEL).level.peak);
  }
  assert_true(loudest < 1e-4f);
  room_send(room, SR_COMMAND_VOLUME, 0.6);
  room_send(room, SR_COMMAND_TEMPO, 150.0);
  room_wait_for(room, SR_SESSION_TEMPO);
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 1.0));
  room_send(room, SR_COMMAND_CLICK, 1.0);
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 1);
  const double first_s = room->last_s;
  assert_int_equal(room_wait_for(room, SR_SESSION_COUNT_IN).count_in.number, 2);
  assert_true(fabs(room->last_s - first_s - 0.4) < 0.15);
  for (int i = 0; i < 15; ++i) {
    loudest = fmaxf(loudest, room_wait_for(room, SR_SESSION_LEVEL).level.peak);
  }
  assert_true(loudest > 0.2f && loudest < 0.4f);
  room_send(room, SR_COMMAND_VOLUME, 0.06);
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 0.6));
  loudest = 0.0f;
  for (int i = 0; i < 15; ++i) {
    loudest = fmaxf(loudest, room_wait_for(room, SR_SESSION_LEVEL).level.peak);
  }
  assert_true(loudest > 0.02f && loudest < 0.04f);
}

/// What a held note was shown to mean, in order, without repetitions.
static size_t
meanings_until(Room* const room, const SrSessionEventKind last, SrSignalMeaning* const meanings,
               double* const held_s)
{
  const double until_s = room->last_s + ROOM_MOST_S;
  size_t count = 0;
  *held_s = 0.0;
  for (bool over = false; !over;) {
    SrSessionEvent event;
    assert_true(sr_session_wait(room->session, ROOM_MOST_S));
    assert_true(sr_session_next(room->session, &event));
    ++room->counts[event.kind];
    assert_true(event.at_s < until_s);
    if (event.kind == SR_SESSION_SIGNAL_HELD) {
      const SrSignalMeaning meaning = event.signal_held.meaning;
      const bool released = event.signal_held.held_s <= 0.0;
      over = released && last == SR_SESSION_SIGNAL_HELD;
      if (!released && (count == 0 || meanings[count - 1] != meaning)) {
        assert_true(count < 8);
        meanings[count++] = meaning;
      }
      assert_true(released || event.signal_held.held_s >= *held_s - 0.03);
      *held_s = released ? *held_s : event.signal_held.held_s;
    }
    over = over || (event.kind == last && last != SR_SESSION_SIGNAL_HELD);
    sr_session_event_clear(&event);
  }
  return count;
}

/// The held note is shown, a tone acknowledges it, and it is recognised in spite of that.
static void
held_and_acknowledged(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = settings_that_keep_nothing();
  // Without the click, so that only the tone is heard
  settings.start_wait_s = 1000.0;
  settings.click_volume = 0.3;
  room_open(room, room->phrase, &settings);
  room_wait_for(room, SR_SESSION_WAITING);
  assert_false(room_comes_within(room, SR_SESSION_COUNT_IN, 1.5));
  static const RoomNote low[] = {{130.81, 2.9}, {0.0, 8.0}, {130.81, 5.2}, {0.0, 0.3}};
  const pid_t player = room_play(room, low, sizeof(low) / sizeof(low[0]));
  SrSignalMeaning meanings[8];
  double held_s;
  assert_int_equal(meanings_until(room, SR_SESSION_SIGNAL_HELD, meanings, &held_s), 2);
  assert_int_equal(meanings[0], SR_SIGNAL_SHORT);
  assert_int_equal(meanings[1], SR_SIGNAL_PLAY);
  print_message("shown as held for %.2f s, held for 2.9 s\n", held_s);
  // A busy computer may show it for as long as the tone is waited for
  assert_true(held_s > 2.7 && held_s < SIGNAL_ENDS_S);
  assert_int_equal(room_wait_for(room, SR_SESSION_PLAYING).playing.kind, SR_PLAYING_PHRASE);
  assert_int_equal(room_wait_for(room, SR_SESSION_PLAYED).played.outcome, SR_PLAYED_WHOLE);
  assert_int_equal(room->counts[SR_SESSION_NOTE], 0);
  assert_int_equal(meanings_until(room, SR_SESSION_SIGNAL, meanings, &held_s), 3);
  assert_int_equal(meanings[2], SR_SIGNAL_END);
  assert_true(held_s > SIGNAL_ENDS_S);
  room_wait_played(player);
}

/// Without sound there is no tone, and nothing to play; it is shown all the same.
static void
held_in_silence(void** const state)
{
  Room* const room = (Room*)*state;
  SrSessionSettings settings = settings_that_keep_nothing();
  settings.silent = true;
  settings.ready_midi = READY;
  settings.start_wait_s = 2.0;
  settings.count_in_each = true;
  room_open(room, room->phrase, &settings);
  room_wait_for(room, SR_SESSION_LEVEL);
  static const RoomNote low[] = {{130.81, 2.5}, {0.0, 1.0}};
  const pid_t player = room_play(room, low, 2);
  SrSignalMeaning meanings[8];
  double held_s;
  assert_int_equal(meanings_until(room, SR_SESSION_SIGNAL, meanings, &held_s), 2);
  assert_int_equal(meanings[1], SR_SIGNAL_NONE);
  room_wait_played(player);
  assert_int_equal(room->counts[SR_SESSION_WAITING], 0);
}

int
main(void)
{
  if (!has_program("pulseaudio") || !has_program("paplay")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(waits_for_the_ready_note, begin, end),
      cmocka_unit_test_setup_teardown(waits_for_a_while, begin, end),
      cmocka_unit_test_setup_teardown(silence_while_it_waits, begin, end),
      cmocka_unit_test_setup_teardown(just_played, begin, end),
      cmocka_unit_test_setup_teardown(counts_in_each, begin, end),
      cmocka_unit_test_setup_teardown(click_off_and_on, begin, end),
      cmocka_unit_test_setup_teardown(held_and_acknowledged, begin, end),
      cmocka_unit_test_setup_teardown(held_in_silence, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
