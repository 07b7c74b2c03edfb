// SPDX-License-Identifier: GPL-3.0-or-later

// What the steps of setup make of what is heard, without any device; and, on a sound server, that
// they open one, report, and can be ended.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "session/setup_steps.h"
#include "sound_server.h"

#include <math.h>
#include <signal.h>
#include <string.h>

#define MOST_REPORTS 256u

/// Who watches: keeps what was reported, and wishes for an end.
typedef struct {
  SrSetupProgress reports[MOST_REPORTS]; ///< All but levels
  size_t count;
  size_t levels;
  size_t levels_wanted; ///< It goes on until there were so many,
  size_t wishes_left;   ///< and then so often
  SrSetupWish then;
} Watcher;

static void
take_report(void* const context, const SrSetupProgress* const progress)
{
  Watcher* const watcher = (Watcher*)context;
  if (progress->kind == SR_SETUP_LEVEL) {
    ++watcher->levels;
    return;
  }
  assert_true(watcher->count < MOST_REPORTS);
  watcher->reports[watcher->count++] = *progress;
}

static SrSetupWish
give_wish(void* const context)
{
  Watcher* const watcher = (Watcher*)context;
  if (watcher->levels < watcher->levels_wanted) {
    return SR_SETUP_GO_ON;
  }
  if (watcher->wishes_left == 0) {
    return watcher->then;
  }
  --watcher->wishes_left;
  return SR_SETUP_GO_ON;
}

/// A step that listens, and its watcher.
typedef struct {
  Watcher watcher;
  SrSetupWatch watch;
  SrSetupFound found;
  SrSetupListening listening;
} Step;

static void
begin_step(Step* const step, const SrSetupStep which)
{
  memset(step, 0, sizeof(*step));
  step->watch = (SrSetupWatch){take_report, give_wish, &step->watcher};
  step->found.step = which;
  step->found.outcome = SR_SETUP_NOTHING;
  step->found.bellows = sr_bellows_default();
  step->listening.watch = &step->watch;
  step->listening.found = &step->found;
  const SrSessionEvent ready = {.kind = SR_SESSION_READY, .ready = {.input = "Desk"}};
  sr_setup_listening_take(&step->listening, &ready);
}

/// Levels of a steady sound from one time to another, ten a second.
static void
hear_level(Step* const step, const double from_s, const double to_s, const float peak)
{
  for (double at_s = from_s; at_s < to_s - 1e-9; at_s += 0.1) {
    // The RMS of a sine is its peak over the root of two
    const SrSessionEvent event = {.kind = SR_SESSION_LEVEL,
                                  .at_s = at_s,
                                  .level = {.peak = peak,
                                            .energy = 4410.0 * (double)peak * (double)peak / 2.0,
                                            .samples = 4410}};
    sr_setup_listening_take(&step->listening, &event);
  }
}

static void
hear_note(Step* const step, const int midi, const double seconds)
{
  SrSessionEvent event = {.kind = SR_SESSION_HEARD};
  event.heard.midi = midi;
  event.heard.onset_s = 10.0;
  event.heard.end_s = 10.0 + seconds;
  sr_setup_listening_take(&step->listening, &event);
}

static void
room_of(Step* const step, const float room, const float loud)
{
  begin_step(step, SR_SETUP_ROOM);
  hear_level(step, 0.1, 3.05, room);
  hear_level(step, 3.1, 9.0, loud);
}

static void
levels_have_names(void** const state)
{
  (void)state;
  static const struct {
    float room;
    float loud;
    bool high;
    SrSetupLoudness loudness;
  } cases[] = {
      {0.001f, 0.5f, false, SR_SETUP_LOUD_GOOD},  // -6 dBFS
      {0.001f, 0.8f, false, SR_SETUP_OVERDRIVEN}, // -1.9 dBFS
      {0.001f, 0.02f, false, SR_SETUP_SOFT},      // -34 dBFS
      {0.05f, 0.09f, true, SR_SETUP_NOT_HEARD},   // 5.1 dB over a room of -29 dBFS RMS
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    Step step;
    room_of(&step, cases[i].room, cases[i].loud);
    assert_int_equal(step.watcher.count, 3);
    assert_int_equal(step.watcher.reports[0].kind, SR_SETUP_OPENED);
    assert_int_equal(step.watcher.reports[1].kind, SR_SETUP_FLOOR);
    assert_int_equal(step.watcher.reports[2].kind, SR_SETUP_LOUDEST);
    assert_int_equal(step.found.outcome, SR_SETUP_MEASURED);
    assert_int_equal(step.found.loudness, cases[i].loudness);
    assert_int_equal(step.found.floor_high, cases[i].high);
    const double rms = 20.0 * log10((double)cases[i].room / sqrt(2.0));
    assert_true(fabs(step.found.floor_dbfs - rms) < 0.01);
    assert_true(fabs(step.found.loudest_dbfs - 20.0 * log10((double)cases[i].loud)) < 0.01);
    // Three seconds and five; levels after the end are not reported, and 89 came
    assert_in_range(step.watcher.levels, 79, 81);
  }
}

static void
a_dead_microphone_ends_it(void** const state)
{
  (void)state;
  Step step;
  room_of(&step, 0.0f, 0.5f);
  assert_int_equal(step.watcher.count, 2);
  assert_int_equal(step.watcher.reports[1].kind, SR_SETUP_DEAD);
  assert_string_equal(step.watcher.reports[1].input, "Desk");
  assert_int_equal(step.found.outcome, SR_SETUP_NOTHING);
  assert_true(step.listening.done);
}

/// Only long notes are strokes; those of one pitch give its use: 120 units in 10 s are 12 a second.
static void
strokes_are_long(void** const state)
{
  (void)state;
  Step step;
  begin_step(&step, SR_SETUP_BELLOWS);
  hear_note(&step, 69, 2.9);
  sr_setup_listening_finish(&step.listening);
  assert_int_equal(step.found.outcome, SR_SETUP_NOTHING);
  hear_note(&step, 69, 10.0);
  hear_note(&step, 69, 10.0);
  sr_setup_listening_finish(&step.listening);
  assert_int_equal(step.found.outcome, SR_SETUP_MEASURED);
  assert_int_equal(step.found.notes, 2);
  assert_true(fabs(step.found.bellows.at_a4 - 12.0) < 1e-9);
  for (size_t i = 2; i < 20; ++i) {
    hear_note(&step, 69, 10.0);
  }
  assert_int_equal(step.found.notes, SR_SETUP_STROKES);
  assert_true(step.listening.done);
}

static void
round_trips_have_a_median(void** const state)
{
  (void)state;
  SrSetupFound found = {.step = SR_SETUP_ROUND_TRIP};
  double steady[SR_SETUP_TIMES] = {0.022, 0.020, 0.0205};
  sr_setup_round_trip_find(steady, &found);
  assert_int_equal(found.outcome, SR_SETUP_MEASURED);
  assert_true(found.round_trip_steady);
  assert_true(fabs(found.round_trip_s - 0.0205) < 1e-12);
  assert_true(fabs(found.round_trip_spread_s - 0.002) < 1e-12);
  double apart[SR_SETUP_TIMES] = {0.020, 0.031, 0.021};
  sr_setup_round_trip_find(apart, &found);
  assert_int_equal(found.outcome, SR_SETUP_MEASURED);
  assert_false(found.round_trip_steady);
  double unheard[SR_SETUP_TIMES] = {0.020, (double)NAN, 0.021};
  sr_setup_round_trip_find(unheard, &found);
  assert_int_equal(found.outcome, SR_SETUP_NOTHING);
  assert_true(isnan(found.round_trip_s));
}

/// What counts replaces what was known; what does not leaves it.
static void
what_counts_is_taken_over(void** const state)
{
  (void)state;
  SrSetup setup = {.floor_dbfs = -60.0, .round_trip_s = 0.02, .bellows_at_a4 = 8.0};
  setup.profile = sr_profile_new(440.0);
  SrSetupFound room = {.step = SR_SETUP_ROOM, .outcome = SR_SETUP_CANCELLED, .floor_dbfs = -50.0};
  assert_false(sr_setup_take_over(&setup, &room));
  assert_true(fabs(setup.floor_dbfs + 60.0) < 1e-9);
  room.outcome = SR_SETUP_MEASURED;
  assert_true(sr_setup_take_over(&setup, &room));
  assert_true(fabs(setup.floor_dbfs + 50.0) < 1e-9);
  // One that could not be measured is not what was measured before, perhaps on other devices
  SrSetupFound trip = {.step = SR_SETUP_ROUND_TRIP,
                       .outcome = SR_SETUP_NOTHING,
                       .input = "Desk",
                       .round_trip_s = (double)NAN,
                       .round_trip_spread_s = (double)NAN};
  assert_true(sr_setup_take_over(&setup, &trip));
  assert_true(isnan(setup.round_trip_s));
  assert_string_equal(setup.input, "Desk");
  SrSetupFound reeds = {.step = SR_SETUP_REEDS, .outcome = SR_SETUP_NOTHING};
  assert_false(sr_setup_take_over(&setup, &reeds));
  assert_non_null(setup.profile);
  reeds.outcome = SR_SETUP_MEASURED;
  reeds.profile = sr_profile_new(443.0);
  assert_true(sr_setup_take_over(&setup, &reeds));
  assert_null(reeds.profile);
  assert_true(fabs(sr_profile_reference_hz(setup.profile) - 443.0) < 0.01);
  sr_setup_found_clear(&reeds);
  sr_setup_clear(&setup);
}

/// On a sound server of our own: it opens the microphone, reports levels, and is ended as wished.
static void
a_step_can_be_ended(void** const state)
{
  (void)state;
  SoundServer server;
  if (!has_program("pulseaudio") || !server_begin(&server)) {
    skip();
  }
  static const struct {
    SrSetupStep step;
    SrSetupWish wish;
    SrSetupOutcome outcome;
  } cases[] = {
      {SR_SETUP_ROOM, SR_SETUP_CANCEL, SR_SETUP_CANCELLED},
      {SR_SETUP_ROOM, SR_SETUP_ENOUGH, SR_SETUP_CANCELLED},
      {SR_SETUP_REEDS, SR_SETUP_CANCEL, SR_SETUP_CANCELLED},
      {SR_SETUP_REEDS, SR_SETUP_ENOUGH, SR_SETUP_NOTHING},
      {SR_SETUP_ROUND_TRIP, SR_SETUP_CANCEL, SR_SETUP_CANCELLED},
      {SR_SETUP_BELLOWS, SR_SETUP_ENOUGH, SR_SETUP_NOTHING},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const bool listens = cases[i].step != SR_SETUP_ROUND_TRIP;
    Watcher watcher = {.levels_wanted = listens ? 3 : 0, .wishes_left = 10, .then = cases[i].wish};
    const SrSetupWatch watch = {take_report, give_wish, &watcher};
    const SrStreamSettings stream = {0};
    SrSetupFound found;
    SrError error = {0};
    if (sr_setup_measure(cases[i].step, &stream, NULL, &watch, &found, &error) != SR_OK) {
      fail_msg("%s", error.message);
    }
    assert_int_equal(found.step, cases[i].step);
    assert_int_equal(found.outcome, cases[i].outcome);
    assert_int_equal(watcher.wishes_left, 0);
    if (listens) {
      assert_int_equal(watcher.reports[0].kind, SR_SETUP_OPENED);
    }
    sr_setup_found_clear(&found);
  }
  const SrStreamSettings unknown = {.input = "no such microphone"};
  Watcher watcher = {0};
  const SrSetupWatch watch = {take_report, give_wish, &watcher};
  SrSetupFound found;
  SrError error = {0};
  assert_int_equal(sr_setup_measure(SR_SETUP_ROOM, &unknown, NULL, &watch, &found, &error),
                   SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "no such microphone"));
  assert_int_equal(found.outcome, SR_SETUP_NOTHING);
  assert_int_equal(watcher.count, 0);
  server_end(&server, SIGTERM);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(levels_have_names),         cmocka_unit_test(a_dead_microphone_ends_it),
      cmocka_unit_test(strokes_are_long),          cmocka_unit_test(round_trips_have_a_median),
      cmocka_unit_test(what_counts_is_taken_over), cmocka_unit_test(a_step_can_be_ended),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
