// SPDX-License-Identifier: GPL-3.0-or-later

// What is told of progress is more than chance: the Mann-Kendall test against a published example
// and against all orders of its values, and no praise from months of noise.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../support/random.h"

#include <steadyreed/progress.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// cmocka compares as float, which is too coarse.
static void
assert_near(const double value, const double wanted, const double apart)
{
  if (!(fabs(value - wanted) <= apart)) {
    fail_msg("%.9g is not %.9g", value, wanted);
  }
}

static void
the_published_example(void** const state)
{
  (void)state;
  // J. Little, College of the Holy Cross, "A Mann-Kendall Example (By Hand)", for Montserrat
  // seminar: S = 54, one pair of ties, Z = 2.9058, one-sided p = 0.0018
  static const double values[] = {12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9,
                                  11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7};
  const SrTrendTest test = sr_trend_test(values, 14);
  assert_int_equal(test.count, 14);
  assert_near(test.s, 54.0, 1e-9);
  assert_near(test.variance, 14.0 * 13.0 * 33.0 / 18.0 - 2.0 * 1.0 * 9.0 / 18.0, 1e-9);
  assert_near(test.z, 2.9058, 5e-5);
  assert_near(test.p, 2.0 * 0.0018, 1e-4);
  // The other way round, and with gaps
  double back[20];
  size_t count = 0;
  for (size_t i = 14; i-- > 0;) {
    back[count++] = values[i];
    if (i % 3 == 0) {
      back[count++] = (double)NAN;
    }
  }
  const SrTrendTest other = sr_trend_test(back, count);
  assert_int_equal(other.count, 14);
  assert_near(other.z, -test.z, 1e-12);
  assert_near(other.p, test.p, 1e-12);
}

static void
degenerate_values(void** const state)
{
  (void)state;
  static const double same[] = {3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0};
  SrTrendTest test = sr_trend_test(same, 9);
  assert_near(test.variance, 0.0, 1e-12);
  assert_near(test.p, 1.0, 1e-12);
  test = sr_trend_test(same, 1);
  assert_near(test.p, 1.0, 1e-12);
  test = sr_trend_test(NULL, 0);
  assert_near(test.p, 1.0, 1e-12);
}

/// Put the values into their next order, as by Knuth's algorithm L; false after the last one.
static bool
next_order(double* const values, const size_t count)
{
  size_t i = count - 1;
  while (i > 0 && values[i - 1] >= values[i]) {
    --i;
  }
  if (i == 0) {
    return false;
  }
  size_t j = count - 1;
  while (values[j] <= values[i - 1]) {
    --j;
  }
  double swapped = values[i - 1];
  values[i - 1] = values[j];
  values[j] = swapped;
  for (size_t k = count - 1; i < k; ++i, --k) {
    swapped = values[i];
    values[i] = values[k];
    values[k] = swapped;
  }
  return true;
}

/// Without a trend every order of the values is as likely as any other. So the variance of S over
/// all orders is the true one, and p must not be smaller than the share of orders with so large an
/// S.
static void
all_orders_of_the_values(void** const state)
{
  (void)state;
  static const double sets[][8] = {{1, 2, 3, 4, 5, 6, 7, 8},
                                   {1, 1, 2, 3, 3, 3, 4, 5},
                                   {0, 0, 0, 0, 50, 50, 100, 100},
                                   {0, 0, 0, 0, 0, 0, 100, 100}};
  // As small as Holm's method may ask for, and the whole 5 %
  static const double levels[] = {0.05, 0.05 / 2, 0.05 / 6};
  for (size_t set = 0; set < sizeof(sets) / sizeof(sets[0]); ++set) {
    double values[8];
    memcpy(values, sets[set], sizeof(values));
    double squares = 0.0;
    double orders = 0.0;
    double below[3] = {0.0};
    double variance = 0.0;
    do {
      const SrTrendTest test = sr_trend_test(values, 8);
      squares += test.s * test.s;
      ++orders;
      variance = test.variance;
      for (size_t l = 0; l < 3; ++l) {
        below[l] += test.p <= levels[l];
      }
    } while (next_order(values, 8));
    // Equal values make fewer orders, each as likely
    assert_near(squares / orders, variance, 1e-6);
    for (size_t l = 0; l < 3; ++l) {
      const double share = below[l] / orders;
      print_message("set %zu, %5.0f orders: told at %.2f %% in %.2f %% (limit %.2f %%)\n", set + 1,
                    orders, 100.0 * levels[l], 100.0 * share, 100.0 * levels[l]);
      assert_true(share <= levels[l]);
    }
  }
}

/// A player who neither gets better nor worse.
typedef struct {
  const char* name;
  double memory;   ///< How much of a day's form is that of the day before
  double growth;   ///< How many more rounds a day at the end than at the beginning, share
  double practise; ///< Share of days with practice
} Player;

/// A month of days, each with rounds of its own.
static size_t
make_month(const Player* const player, Random* const random, SrPracticeDay days[30])
{
  size_t count = 0;
  double form = random_normal(random);
  for (int day = 0; day < 30; ++day) {
    form =
        player->memory * form + sqrt(1.0 - player->memory * player->memory) * random_normal(random);
    if (random_unit(random) > player->practise) {
      continue;
    }
    const double most = 3.0 + 4.0 * (1.0 + player->growth * day / 29.0);
    SrPracticeDay one = {.day = 20000 + day, .rounds = 2 + (unsigned)(random_unit(random) * most)};
    double clean_bpm = 0.0;
    for (unsigned r = 0; r < one.rounds; ++r) {
      const bool clean = random_unit(random) < 0.3;
      const double offset_ms = 5.0 * form + 12.0 * random_normal(random);
      one.clean_rounds += clean;
      clean_bpm += clean ? 100.0 + form + 2.0 * random_normal(random) : 0.0;
      one.spread_ms += fmax(2.0, 11.0 + form + 3.0 * random_normal(random)) / one.rounds;
      one.offset_ms += offset_ms / one.rounds;
      one.abs_offset_ms += fabs(offset_ms) / one.rounds;
      one.alone_ms += fabs(25.0 * random_normal(random) + 5.0 * form) / one.rounds;
      for (int cut = 0; cut < 6; ++cut) {
        ++one.cuts;
        one.cuts_clean += (unsigned)(random_unit(random) < 0.8 + 0.05 * form);
      }
      one.air += 2;
      one.air_heard += (unsigned)(random_unit(random) < 0.4 + 0.05 * form);
    }
    one.clean_bpm = one.clean_rounds ? clean_bpm / one.clean_rounds : (double)NAN;
    days[count++] = one;
  }
  return count;
}

static bool
tells(const SrPhraseTrends* const trends, const SrTrend trend)
{
  for (size_t i = 0; i < SR_MEASURE_COUNT; ++i) {
    if (trends->measures[i].trend == trend) {
      return true;
    }
  }
  return false;
}

static void
no_praise_from_noise(void** const state)
{
  (void)state;
  enum { MONTHS = 1000 };
  static const struct {
    Player player;
    double limit; ///< Share of months with anything told, percent; NAN for none
  } cases[] = {
      {{"every day", 0.0, 0.0, 1.0}, 5.0},
      {{"every other day", 0.0, 0.0, 0.5}, 5.0},
      {{"more and more rounds", 0.0, 3.0, 1.0}, 5.0},
      // One day is like the one before, which the test does not allow for; see progress.h
      {{"form that lasts, 0.2 of it", 0.2, 0.0, 1.0}, (double)NAN},
      {{"form that lasts, 0.5 of it", 0.5, 0.0, 1.0}, (double)NAN},
  };
  for (size_t c = 0; c < sizeof(cases) / sizeof(cases[0]); ++c) {
    Random random = {20u + c};
    unsigned praised = 0;
    unsigned told = 0;
    for (int month = 0; month < MONTHS; ++month) {
      SrPracticeDay days[30];
      const size_t count = make_month(&cases[c].player, &random, days);
      const SrPhraseTrends trends = sr_phrase_trends(days, count);
      const bool better = tells(&trends, SR_TREND_BETTER);
      praised += better;
      told += better || tells(&trends, SR_TREND_WORSE);
    }
    const double percent = 100.0 * told / MONTHS;
    print_message("%d months of noise, %s: praise in %.1f %%, anything told in %.1f %% (aim and "
                  "limit %.0f)\n",
                  MONTHS, cases[c].player.name, 100.0 * praised / MONTHS, percent, cases[c].limit);
    assert_true(isnan(cases[c].limit) || percent <= cases[c].limit);
  }
}

/// A month of a player who does get better is seen for what it is.
static void
what_is_better_is_told(void** const state)
{
  (void)state;
  enum { MONTHS = 200 };
  const Player player = {"", 0.0, 0.0, 0.8};
  for (int gain_ms = 3; gain_ms <= 7; gain_ms += 2) {
    Random random = {99};
    unsigned found = 0;
    for (int month = 0; month < MONTHS; ++month) {
      SrPracticeDay days[30];
      const size_t count = make_month(&player, &random, days);
      for (size_t i = 0; i < count; ++i) {
        days[i].spread_ms += gain_ms * (29.0 - (days[i].day - 20000)) / 29.0;
      }
      const SrPhraseTrends trends = sr_phrase_trends(days, count);
      const SrMeasureTrend* const spread = &trends.measures[SR_MEASURE_SPREAD];
      found += spread->trend == SR_TREND_BETTER && spread->to < spread->from;
    }
    const double percent = 100.0 * found / MONTHS;
    const double limit = gain_ms == 7 ? 90.0 : 0.0;
    print_message("a spread from %d to 11 ms in a month is told in %.1f %% (aim 95, limit %.0f)\n",
                  11 + gain_ms, percent, limit);
    assert_true(percent >= limit);
  }
}

static void
which_way_is_better(void** const state)
{
  (void)state;
  SrPracticeDay days[12];
  for (int i = 0; i < 12; ++i) {
    days[i] = (SrPracticeDay){.day = i < 2 ? i - 100 : i,
                              .rounds = 1,
                              .clean_bpm = 80.0 + i,
                              .cuts = 20,
                              .cuts_clean = (unsigned)(19 - i),
                              .spread_ms = 20.0 + i,
                              .abs_offset_ms = 30.0 - i,
                              .alone_ms = i == 11 ? (double)NAN : 5.0,
                              .air = i > 5 ? 4 : 0};
  }
  const SrPhraseTrends trends = sr_phrase_trends(days, 12);
  // The first two lie before the window
  assert_int_equal(trends.days, 10);
  assert_int_equal(trends.first_day, 2);
  assert_int_equal(trends.measures[SR_MEASURE_CLEAN_BPM].trend, SR_TREND_BETTER);
  assert_int_equal(trends.measures[SR_MEASURE_CUTS].trend, SR_TREND_WORSE);
  assert_int_equal(trends.measures[SR_MEASURE_SPREAD].trend, SR_TREND_WORSE);
  assert_int_equal(trends.measures[SR_MEASURE_OFFSET].trend, SR_TREND_BETTER);
  assert_int_equal(trends.measures[SR_MEASURE_ALONE].trend, SR_TREND_NONE);
  assert_int_equal(trends.measures[SR_MEASURE_AIR].trend, SR_TREND_UNTOLD);
  assert_near(trends.measures[SR_MEASURE_CLEAN_BPM].from, 83.0, 1e-9);
  assert_near(trends.measures[SR_MEASURE_CLEAN_BPM].to, 90.0, 1e-9);
}

/// Holm's method worked by hand: what stands alone at 5 % must stand at 5 % by the number of
/// measures among others that do not change.
static void
one_measure_alone_must_be_surer(void** const state)
{
  (void)state;
  // 5 of the 45 pairs fall: S = 35, variance 125, z = 34 / 11.180 = 3.041, p = 0.0024
  static const double strong[] = {1, 2, 3, 4, 6, 5, 9, 8, 10, 7};
  SrTrendTest test = sr_trend_test(strong, 10);
  assert_near(test.p, 0.0024, 5e-5);
  SrPracticeDay days[10];
  for (int i = 0; i < 10; ++i) {
    days[i] = (SrPracticeDay){.day = i,
                              .clean_bpm = (double)NAN,
                              .spread_ms = (double)NAN,
                              .abs_offset_ms = (double)NAN,
                              .alone_ms = -strong[i]};
  }
  SrPhraseTrends trends = sr_phrase_trends(days, 10);
  assert_int_equal(trends.measures[SR_MEASURE_ALONE].trend, SR_TREND_BETTER);
  // 8 pairs fall: S = 29, z = 28 / 11.180 = 2.504, p = 0.0123, which is over 5 % / 6
  static const double weak[] = {2, 1, 5, 3, 4, 9, 6, 10, 7, 8};
  test = sr_trend_test(weak, 10);
  assert_near(test.p, 0.0123, 5e-5);
  for (int i = 0; i < 10; ++i) {
    days[i].alone_ms = weak[i];
  }
  trends = sr_phrase_trends(days, 10);
  assert_int_equal(trends.measures[SR_MEASURE_ALONE].trend, SR_TREND_WORSE);
  for (int i = 0; i < 10; ++i) {
    days[i].clean_bpm = days[i].spread_ms = days[i].abs_offset_ms = i % 2;
    days[i].cuts = days[i].air = 2;
    days[i].cuts_clean = days[i].air_heard = (unsigned)i % 2;
  }
  trends = sr_phrase_trends(days, 10);
  assert_int_equal(trends.measures[SR_MEASURE_ALONE].trend, SR_TREND_NONE);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_published_example),           cmocka_unit_test(degenerate_values),
      cmocka_unit_test(all_orders_of_the_values),        cmocka_unit_test(no_praise_from_noise),
      cmocka_unit_test(what_is_better_is_told),          cmocka_unit_test(which_way_is_better),
      cmocka_unit_test(one_measure_alone_must_be_surer),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
