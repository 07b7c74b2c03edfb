// SPDX-License-Identifier: GPL-3.0-or-later

// Which time of a recording is where in its picture, and times in words.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "time_scale.h"

#include <math.h>

#define EXACT 1e-9

/// cmocka's own comparison is of floats.
static void
expect_near(const double value, const double expected, const double within)
{
  if (!(fabs(value - expected) <= within)) {
    fail_msg("%.9g is not within %g of %.9g", value, within, expected);
  }
}

static void
places_and_times_agree(void** const state)
{
  (void)state;
  SrTimeScale scale = sr_time_scale_all(3600.0, 1000.0);
  expect_near(sr_time_scale_place(&scale, 1800.0), 500.0, EXACT);
  expect_near(sr_time_scale_time(&scale, 250.0), 900.0, EXACT);
  sr_time_scale_fit(&scale, 100.0, 110.0);
  for (double x = 0.0; x <= 1000.0; x += 12.5) {
    expect_near(sr_time_scale_place(&scale, sr_time_scale_time(&scale, x)), x, 1e-6);
  }
  assert_true(sr_time_scale_place(&scale, 100.0) > 50.0);
  assert_true(sr_time_scale_place(&scale, 110.0) < 950.0);
  // Outside of the recording there is no time
  scale = sr_time_scale_all(10.0, 100.0);
  expect_near(sr_time_scale_time(&scale, -20.0), 0.0, EXACT);
  expect_near(sr_time_scale_time(&scale, 200.0), 10.0, EXACT);
  // Before it has a width
  scale = sr_time_scale_all(10.0, 0.0);
  expect_near(sr_time_scale_time(&scale, 5.0), 0.0, EXACT);
}

static void
zooming_keeps_the_time_under_the_pointer(void** const state)
{
  (void)state;
  SrTimeScale scale = sr_time_scale_all(3600.0, 800.0);
  const double x = sr_time_scale_place(&scale, 1234.5);
  for (int i = 0; i < 20; ++i) {
    sr_time_scale_zoom(&scale, 1.0 / 1.25, 1234.5);
    expect_near(sr_time_scale_place(&scale, 1234.5), x, 1e-6);
  }
  for (int i = 0; i < 60; ++i) {
    sr_time_scale_zoom(&scale, 0.5, 1234.5);
  }
  expect_near(scale.shown_s, SR_TIME_SCALE_LEAST_S, EXACT);
  expect_near(sr_time_scale_place(&scale, 1234.5), x, 1e-6);
  for (int i = 0; i < 60; ++i) {
    sr_time_scale_zoom(&scale, 2.0, 1234.5);
  }
  expect_near(scale.from_s, 0.0, EXACT);
  expect_near(scale.shown_s, 3600.0, EXACT);
}

static void
nothing_is_shown_outside_of_the_recording(void** const state)
{
  (void)state;
  SrTimeScale scale = sr_time_scale_all(100.0, 500.0);
  sr_time_scale_fit(&scale, 0.0, 10.0);
  expect_near(scale.from_s, 0.0, EXACT);
  sr_time_scale_move(&scale, 95.0);
  expect_near(scale.from_s + scale.shown_s, 100.0, EXACT);
  sr_time_scale_move(&scale, -5.0);
  expect_near(scale.from_s, 0.0, EXACT);
  // One shorter than the least that is shown
  scale = sr_time_scale_all(0.2, 500.0);
  sr_time_scale_zoom(&scale, 0.1, 0.1);
  expect_near(scale.shown_s, 0.2, EXACT);
}

static void
labels_stand_apart_at_round_times(void** const state)
{
  (void)state;
  SrTimeScale scale = sr_time_scale_all(18.0, 1230.0);
  expect_near(sr_time_scale_step(&scale, 72.0), 2.0, EXACT);
  for (double seconds = 0.3; seconds < 200000.0; seconds *= 1.37) {
    scale = sr_time_scale_all(seconds, 640.0);
    const double step_s = sr_time_scale_step(&scale, 72.0);
    assert_true(640.0 * step_s / seconds >= 72.0 - 1e-6);
    // A hundred labels at most, and no step larger than needed by a factor of 3
    assert_true(step_s <= 0.1 + EXACT || step_s < 3.01 * 72.0 * seconds / 640.0);
  }
}

static void
expect_words(const double at_s, const bool tenths, const char* const expected)
{
  char words[SR_TIME_WORDS_SIZE];
  sr_time_words(at_s, tenths, words);
  assert_string_equal(words, expected);
}

static void
times_are_said_in_minutes(void** const state)
{
  (void)state;
  expect_words(0.0, false, "0:00");
  expect_words(7.46, true, "0:07.5");
  expect_words(59.96, true, "1:00.0");
  expect_words(59.96, false, "1:00");
  expect_words(754.2, true, "12:34.2");
  expect_words(3725.0, false, "1:02:05");
  expect_words(3599.99, true, "1:00:00.0");
  expect_words(-3.0, true, "0:00.0");
  expect_words(1e12, true, "99:59:59.0");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(places_and_times_agree),
      cmocka_unit_test(zooming_keeps_the_time_under_the_pointer),
      cmocka_unit_test(nothing_is_shown_outside_of_the_recording),
      cmocka_unit_test(labels_stand_apart_at_round_times),
      cmocka_unit_test(times_are_said_in_minutes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
