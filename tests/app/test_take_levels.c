// SPDX-License-Identifier: GPL-3.0-or-later

// Levels that are read from a take: each at its time.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "app/take_levels.h"

#include "run_program.h"

#include <steadyreed/audio.h>
#include <steadyreed/take_page.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define RATE_HZ 48000.0
/// Samples of the take: 2 s.
#define LENGTH 96000u

/// A sine of half of full scale; a tenth of that from 1.000 to 1.050 s.
static size_t
source(void* const context, float* const samples, const size_t count)
{
  size_t* const at = context;
  size_t done = 0;
  for (; done < count && *at < LENGTH; ++done, ++*at) {
    const double scale = *at >= 48000 && *at < 50400 ? 0.05 : 0.5;
    samples[done] = (float)(scale * sin(2.0 * M_PI * 1000.0 * (double)*at / RATE_HZ));
  }
  return done;
}

static void
each_at_its_time(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const path = folder_path(folder, "take.wav");
  size_t at = 0;
  assert_int_equal(sr_audio_write(path, RATE_HZ, SR_SAMPLES_FLOAT, source, &at, NULL), SR_OK);
  // Not in order; over both ends; two over each other; over where the file is read in two pieces
  static const double MIDDLES_S[] = {1.9, 1.02, 0.05, 1.10, 1.35};
  SrLevelCurve curves[5];
  assert_true(sr_take_levels_read(path, MIDDLES_S, 5, curves));
  for (size_t i = 0; i < 5; ++i) {
    const double start_s = fmax(0.0, MIDDLES_S[i] - SR_PAGE_CURVE_BEFORE_S);
    assert_true(fabs(curves[i].start_s - start_s) < 1e-4);
    const double length_s = fmin(2.0 - start_s, SR_PAGE_CURVE_BEFORE_S + SR_PAGE_CURVE_AFTER_S);
    assert_true(fabs((double)curves[i].count - length_s / SR_LEVEL_STEP_S) < 1.01);
    for (size_t w = 0; w < curves[i].count; ++w) {
      const double begin_s = start_s + (double)w * SR_LEVEL_STEP_S;
      const bool low = begin_s > 0.999 && begin_s < 1.046;
      assert_true(fabs(curves[i].level_db[w] - (low ? -29.03 : -9.03)) < 0.5);
    }
    sr_level_curve_clear(&curves[i]);
  }
  static const double BEYOND_S = 4.0;
  assert_false(sr_take_levels_read(path, &BEYOND_S, 1, curves));
  sr_level_curve_clear(&curves[0]);
  assert_false(sr_take_levels_read("-", MIDDLES_S, 1, curves));
  sr_level_curve_clear(&curves[0]);
  folder_remove(folder);
  free(path);
  free(folder);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(each_at_its_time)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
