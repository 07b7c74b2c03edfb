// SPDX-License-Identifier: GPL-3.0-or-later

// Known delays, with fractions, are measured again.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "random.h"
#include "room.h"

#include <steadyreed/click.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A sound whose value is known between samples too: two Gaussian bursts.
static double
burst(const double t_s)
{
  const double a = (t_s - 0.004) / 0.0006;
  const double b = (t_s - 0.009) / 0.0004;
  return 0.5 * exp(-0.5 * a * a) * cos(2.0 * M_PI * 2300.0 * (t_s - 0.004)) +
         0.4 * exp(-0.5 * b * b) * sin(2.0 * M_PI * 3900.0 * (t_s - 0.009));
}

static void
fractions_are_found(void** const state)
{
  (void)state;
  static const double rates[] = {16000.0, 22050.0, 44100.0, 48000.0, 96000.0};
  Random random = {5};
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    double worst = 0.0;
    for (int turn = 0; turn < 20; ++turn) {
      const size_t sound_count = (size_t)(0.015 * rates[r]);
      const size_t count = (size_t)(1.0 * rates[r]);
      float* const sound = (float*)malloc(sound_count * sizeof(float));
      float* const recorded = (float*)calloc(count, sizeof(float));
      const double delay = random_between(&random, 0.0, 0.6) * rates[r];
      const double sign = turn % 2 ? 1.0 : -1.0; // a device may turn it upside down
      for (size_t i = 0; i < sound_count; ++i) {
        sound[i] = (float)burst((double)i / rates[r]);
      }
      for (size_t i = 0; i < count; ++i) {
        recorded[i] = (float)(0.1 * sign * burst(((double)i - delay) / rates[r]));
      }
      room_noise(recorded, count, rates[r], -60.0, &random);
      double found = 0.0;
      double sureness = 0.0;
      assert_int_equal(
          sr_round_trip_measure(recorded, count, sound, sound_count, &found, &sureness, NULL),
          SR_OK);
      assert_true(isfinite(found));
      assert_true(sureness > 2.0);
      worst = fmax(worst, fabs(found - delay));
      free(sound);
      free(recorded);
    }
    printf("%6.0f Hz: within %.3f samples\n", rates[r], worst);
    assert_true(worst < 0.1);
  }
}

/// The click itself, whole samples late, in a room and in noise as loud as it.
static void
click_in_a_room(void** const state)
{
  (void)state;
  float sound[4000];
  const double rate = 48000.0;
  const size_t sound_count = sr_sound_click(rate, false, sound, 4000);
  const size_t count = 48000;
  float* const recorded = (float*)calloc(count, sizeof(float));
  Random random = {9};
  for (size_t i = 0; i < sound_count; ++i) {
    recorded[7001 + i] = 0.1f * sound[i];
  }
  room_apply(recorded, count, rate, 0.4, 4.0, &random);
  recorded[300] = NAN; // lost
  room_noise(recorded, count, rate, -36.0, &random);
  double found = 0.0;
  double sureness = 0.0;
  assert_int_equal(
      sr_round_trip_measure(recorded, count, sound, sound_count, &found, &sureness, NULL), SR_OK);
  printf("7001 late: %.2f, sureness %.1f\n", found, sureness);
  assert_true(fabs(found - 7001.0) < 1.0);
  free(recorded);
}

static void
none_is_none(void** const state)
{
  (void)state;
  float sound[4000];
  const size_t sound_count = sr_sound_click(48000.0, false, sound, 4000);
  const size_t count = 60000;
  float* const recorded = (float*)calloc(count, sizeof(float));
  double found = 0.0;
  double sureness = 0.0;
  for (uint64_t seed = 0; seed < 10; ++seed) {
    Random random = {seed};
    memset(recorded, 0, count * sizeof(float));
    if (seed > 0) {
      room_noise(recorded, count, 48000.0, -40.0, &random);
    }
    for (size_t i = 0; seed > 5 && i < count; ++i) {
      recorded[i] += (float)(0.1 * sin(0.03 * (double)(seed * i)));
    }
    assert_int_equal(
        sr_round_trip_measure(recorded, count, sound, sound_count, &found, &sureness, NULL), SR_OK);
    assert_true(isnan(found));
  }
  // Nothing in which it could be
  assert_int_equal(
      sr_round_trip_measure(recorded, 100, sound, sound_count, &found, &sureness, NULL), SR_OK);
  assert_true(isnan(found));
  free(recorded);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fractions_are_found),
      cmocka_unit_test(click_in_a_room),
      cmocka_unit_test(none_is_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
