// SPDX-License-Identifier: GPL-3.0-or-later

// The tuner: the pitch of what sounds while nothing is practised, against tones of known frequency.

#include "room.h"

#include <stdarg.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

/// Of the largest error, cents.
#define AIM_CENTS 0.5
#define LIMIT_CENTS 1.0

static int
begin(void** const state)
{
  static Room room;
  *state = &room;
  return room_begin(&room, "X:1\nM:2/4\nL:1/4\nK:D\nAB|]\n");
}

static int
end(void** const state)
{
  return room_end((Room*)*state);
}

static void
open_it(Room* const room, SrProfile* const profile)
{
  SrSessionSettings settings = sr_session_settings_default();
  settings.pitch = true;
  const SrSetup setup = {.round_trip_s = (double)NAN, .profile = profile};
  settings.setup = profile ? &setup : NULL;
  room_open(room, NULL, &settings);
  room_wait_for(room, SR_SESSION_READY);
}

/// From G2 to C7, every third note, each off by some cents.
static void
over_the_whole_range(void** const state)
{
  Room* const room = (Room*)*state;
  open_it(room, NULL);
  double worst = 0.0;
  size_t events = 0;
  enum { LOWEST = 43, HIGHEST = 96, STEP = 3 };
  static RoomNote notes[2 * (HIGHEST - LOWEST + 1)];
  size_t count = 0;
  for (int midi = LOWEST; midi <= HIGHEST; midi += STEP) {
    const double cents = (double)((midi * 7) % 61) - 30.0;
    notes[count++] = (RoomNote){440.0 * exp2((midi - 69.0) / 12.0 + cents / 1200.0), 0.4};
    notes[count++] = (RoomNote){0.0, 0.15};
  }
  const pid_t player = room_play(room, notes, count);
  int last_midi = 0;
  size_t seen = 0;
  double sum = 0.0;
  while (last_midi + STEP <= HIGHEST || room->last_s < 1.0) {
    const SrSessionEvent event = room_wait_for(room, SR_SESSION_PITCH);
    const int midi = event.pitch.midi;
    const double cents = (double)((midi * 7) % 61) - 30.0;
    const double off = fabs(event.pitch.cents - cents);
    assert_true(fabs(event.pitch.reference_hz - 440.0) < 1e-9);
    const double hz = 440.0 * exp2((midi - 69.0) / 12.0 + event.pitch.cents / 1200.0);
    assert_true(fabs(1200.0 * log2(event.pitch.frequency_hz / hz)) < 1e-6);
    if (off > LIMIT_CENTS) {
      print_message("MIDI %d at %.2f s: %.2f cents off\n", midi, event.at_s, off);
    }
    worst = fmax(worst, off);
    sum += off;
    ++events;
    seen += midi != last_midi;
    last_midi = midi;
  }
  room_wait_played(player);
  print_message(
      "tuner: %zu notes, %zu events, mean error %.3f cents, largest %.3f (aim %.1f, limit "
      "%.1f)\n",
      seen, events, sum / (double)events, worst, AIM_CENTS, LIMIT_CENTS);
  assert_int_equal(seen, (HIGHEST - LOWEST) / STEP + 1);
  assert_true(worst < LIMIT_CENTS);
}

/// About twenty times a second, at the reference of the instrument, with the level; nothing in
/// silence.
static void
at_the_instruments_reference(void** const state)
{
  Room* const room = (Room*)*state;
  SrProfile* const profile = sr_profile_new(450.0);
  open_it(room, profile);
  sr_profile_del(profile);
  assert_false(room_comes_within(room, SR_SESSION_PITCH, 1.0));
  static const RoomNote note[] = {{450.0, 3.0}, {0.0, 0.5}};
  const pid_t player = room_play(room, note, 2);
  const SrSessionEvent first = room_wait_for(room, SR_SESSION_PITCH);
  assert_true(fabs(first.pitch.reference_hz - 450.0) < 1e-9);
  assert_int_equal(first.pitch.midi, 69);
  room_comes_within(room, SR_SESSION_TROUBLE, 0.5);
  const size_t before = room->counts[SR_SESSION_PITCH];
  assert_false(room_comes_within(room, SR_SESSION_TROUBLE, 2.0));
  const size_t events = room->counts[SR_SESSION_PITCH] - before;
  print_message("%zu events in 2 s\n", events);
  assert_true(events >= 36 && events <= 44);
  const SrSessionEvent last = room_wait_for(room, SR_SESSION_PITCH);
  assert_true(fabs(last.pitch.cents) < LIMIT_CENTS);
  // Eight harmonics of 0.1 / h
  double power = 0.0;
  for (int h = 1; h <= 8; ++h) {
    power += 0.5 * 0.01 / (h * h);
  }
  assert_true(fabs(last.pitch.level_db - 10.0 * log10(power)) < 0.5);
  room_wait_played(player);
  assert_false(room_comes_within(room, SR_SESSION_PITCH, 1.0) &&
               room_comes_within(room, SR_SESSION_PITCH, 1.0));
}

/// Only if it is asked for.
static void
not_unless_asked_for(void** const state)
{
  Room* const room = (Room*)*state;
  room_open(room, NULL, NULL);
  room_wait_for(room, SR_SESSION_READY);
  static const RoomNote note[] = {{440.0, 1.0}, {0.0, 0.3}};
  const pid_t player = room_play(room, note, 2);
  room_wait_for(room, SR_SESSION_HEARD);
  room_wait_played(player);
  assert_int_equal(room->counts[SR_SESSION_PITCH], 0);
  float* samples = NULL;
  size_t count = 0;
  assert_int_equal(sr_session_copy(room->session, 0.0, 1.0, &samples, &count, NULL), SR_NOT_FOUND);
}

int
main(void)
{
  if (!has_program("pulseaudio") || !has_program("paplay")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(over_the_whole_range, begin, end),
      cmocka_unit_test_setup_teardown(at_the_instruments_reference, begin, end),
      cmocka_unit_test_setup_teardown(not_unless_asked_for, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
