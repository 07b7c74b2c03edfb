// SPDX-License-Identifier: GPL-3.0-or-later

// The measures against worked examples that others printed.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "judge/median.h"
#include "judge/rhythm.h"

#include <steadyreed/judge.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Daniele and Patel (2013), "An empirical study of historical patterns in musical rhythm", Music
/// Perception 31(1), appendix: a theme of 19 durations in crotchets has an nPVI of 42.2.
static void
npvi_of_a_theme(void** const state)
{
  (void)state;
  const double third = 1.0 / 3.0;
  const double durations[] = {1.0,   0.5,   0.5,   1.0,   0.5,   0.5,   third, third, third, 2.0,
                              third, third, third, third, third, third, 1.5,   1.0,   0.5};
  const double npvi = sr_judge_npvi(durations, sizeof(durations) / sizeof(durations[0]));
  assert_true(fabs(npvi - 42.2) < 0.05);
}

/// Condit-Schultz (2019), "Deconstructing the nPVI", Music Perception 36(3), figure 1: even
/// durations give 0, long and short in turn at 2 to 1 give 66.7, at 3 to 1 give 100.
static void
npvi_of_ratios(void** const state)
{
  (void)state;
  const double even[] = {0.25, 0.25, 0.25, 0.25, 0.25};
  const double two[] = {2.0, 1.0, 2.0, 1.0, 2.0, 1.0};
  const double three[] = {3.0, 1.0, 3.0, 1.0};
  assert_true(fabs(sr_judge_npvi(even, 5)) < 1e-12);
  assert_true(fabs(sr_judge_npvi(two, 6) - 66.67) < 0.005);
  assert_true(fabs(sr_judge_npvi(three, 4) - 100.0) < 1e-9);
}

/// No pairs, no index. The unit does not matter, by the formula of Grabe and Low (2002).
static void
npvi_without_pairs(void** const state)
{
  (void)state;
  const double beats[] = {1.0, 0.5, 0.75};
  const double milliseconds[] = {400.0, 200.0, 300.0};
  assert_true(isnan(sr_judge_npvi(beats, 0)));
  assert_true(isnan(sr_judge_npvi(beats, 1)));
  assert_true(fabs(sr_judge_npvi(beats, 3) - sr_judge_npvi(milliseconds, 3)) < 1e-9);
}

/// Notes of one, two and three units, a tempo that rises by a tenth, and steps that are off by
/// 12 ms to either side in turn: off by that, but for what the unit of the moment takes up.
static void
steps_of_a_tune(void** const state)
{
  (void)state;
  static const int lengths[] = {1, 1, 1, 2, 1, 3, 1, 1, 1, 1, 1, 1, 2, 1};
  enum { STEPS = 84 };
  double steps[STEPS];
  for (int off_ms = 0; off_ms <= 24; off_ms += 12) {
    for (size_t i = 0; i < STEPS; ++i) {
      const double unit_s = 0.2 - 0.02 * (double)i / STEPS;
      steps[i] = lengths[i % 14] * unit_s + (i % 2 ? 1e-3 : -1e-3) * off_ms;
    }
    steps[40] = 1.37; // A hesitation
    const SrIntervals reported = sr_judge_intervals(steps, STEPS);
    assert_true(fabs(reported.unit_s - 0.19) < 0.004);
    assert_true(fabs(reported.stray_ms - off_ms) < 3.0);
    assert_in_range(reported.others, 1, 2);
  }
  assert_true(isnan(sr_judge_intervals(steps, 2).unit_s));
  assert_true(isnan(sr_judge_intervals(NULL, 0).unit_s));
  const double even[] = {0.25, 0.25, 0.25};
  assert_true(fabs(sr_judge_intervals(even, 3).stray_ms) < 1e-9);
  assert_true(fabs(sr_judge_intervals(even, 3).unit_s - 0.25) < 1e-9);
}

/// Friberg and Sundberg (1995), "Time discrimination in a monotonic, isochronous sequence", JASA
/// 98(5), abstract: about 6 ms for intervals shorter than 240 ms, about 2.5 % of longer ones.
static void
noticeable_displacement(void** const state)
{
  (void)state;
  assert_true(fabs(sr_judge_just_noticeable_ms(100.0) - 6.0) < 1e-9);
  assert_true(fabs(sr_judge_just_noticeable_ms(239.9) - 6.0) < 0.01);
  assert_true(fabs(sr_judge_just_noticeable_ms(240.0) - 6.0) < 1e-9);
  assert_true(fabs(sr_judge_just_noticeable_ms(1000.0) - 25.0) < 1e-9);
}

/// ISO 16:1975 sets A4 to 440 Hz. The others are of the usual table of equal temperament
/// (from memory, to its two decimals); a just fifth is 702 cents (Helmholtz, from memory).
static void
equal_temperament(void** const state)
{
  (void)state;
  static const struct {
    int midi;
    double hz;
  } table[] = {{21, 27.50},  {48, 130.81}, {60, 261.63}, {62, 293.66}, {66, 369.99},
               {69, 440.00}, {71, 493.88}, {74, 587.33}, {81, 880.00}, {108, 4186.01}};
  for (size_t i = 0; i < sizeof(table) / sizeof(table[0]); ++i) {
    assert_true(fabs(sr_judge_frequency_hz(table[i].midi, 440.0) - table[i].hz) < 0.005);
  }
  assert_true(fabs(sr_judge_frequency_hz(69.0 + 7.02, 440.0) / 660.0 - 1.0) < 1e-4);
  assert_true(fabs(sr_judge_frequency_hz(69, 415.0) - 415.0) < 1e-9);
}

/// The data set Norris of the NIST Statistical Reference Datasets, calibration of ozone monitors,
/// certified: B0 = -0.262323073774029, B1 = 1.00211681802045. Data and values from memory; that
/// they agree to all digits in exact arithmetic shows that they were remembered rightly.
static void
least_squares_of_norris(void** const state)
{
  (void)state;
  static const double data[][2] = {{0.1, 0.2},     {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6},
                                   {9.2, 10.1},    {228.1, 226.5}, {668.5, 666.3}, {998.5, 996.3},
                                   {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
                                   {0.1, 0.6},     {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0},
                                   {448.9, 447.5}, {10.8, 11.6},   {557.7, 556.0}, {228.3, 228.1},
                                   {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
                                   {0.6, 0.3},     {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2},
                                   {998.5, 999.0}, {778.9, 779.0}, {10.2, 11.1},   {117.6, 118.3},
                                   {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5}};
  const size_t rows = sizeof(data) / sizeof(data[0]);
  double matrix[2 * sizeof(data) / sizeof(data[0])];
  double values[sizeof(data) / sizeof(data[0])];
  double solution[2];
  for (size_t i = 0; i < rows; ++i) {
    matrix[2 * i] = 1.0;
    matrix[2 * i + 1] = data[i][1];
    values[i] = data[i][0];
  }
  assert_int_equal(sr_least_squares(rows, 2, matrix, values, solution), 2);
  assert_true(fabs(solution[0] + 0.262323073774029) < 1e-9);
  assert_true(fabs(solution[1] - 1.00211681802045) < 1e-11);
}

/// A column that cannot be reported from another is left at 0, and the rest still fits.
static void
least_squares_without_rank(void** const state)
{
  (void)state;
  const double matrix[] = {1.0, 2.0, 1.0, 2.0, 1.0, 2.0};
  const double values[] = {4.0, 4.0, 4.0};
  double solution[2];
  assert_int_equal(sr_least_squares(3, 2, matrix, values, solution), 1);
  assert_true(fabs(solution[0] + 2.0 * solution[1] - 4.0) < 1e-9);
}

static int
compare_doubles(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// The median is the middle of what the C library's qsort puts in order, many equal values or few.
static void
median_as_sorted(void** const state)
{
  (void)state;
  uint32_t random = 1;
  for (size_t count = 1; count <= 60; ++count) {
    for (uint32_t kinds = 1; kinds <= 64; ++kinds) {
      double values[60];
      double sorted[60];
      for (size_t i = 0; i < count; ++i) {
        random = 1664525u * random + 1013904223u;
        values[i] = sorted[i] = (double)((random >> 16u) % kinds);
      }
      qsort(sorted, count, sizeof(double), compare_doubles);
      const double middle = 0.5 * (sorted[(count - 1) / 2] + sorted[count / 2]);
      assert_true(fabs(sr_median(values, count) - middle) < 1e-12);
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(npvi_of_a_theme),
      cmocka_unit_test(npvi_of_ratios),
      cmocka_unit_test(median_as_sorted),
      cmocka_unit_test(npvi_without_pairs),
      cmocka_unit_test(steps_of_a_tune),
      cmocka_unit_test(noticeable_displacement),
      cmocka_unit_test(equal_temperament),
      cmocka_unit_test(least_squares_of_norris),
      cmocka_unit_test(least_squares_without_rank),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
