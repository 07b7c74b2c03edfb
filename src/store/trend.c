// SPDX-License-Identifier: GPL-3.0-or-later

// The Mann-Kendall test, and what may be told when several measures are tested at once.

#include <steadyreed/progress.h>

#include "chance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Chance of telling anything of a phrase that did not change.
#define TOLD_BY_CHANCE 0.05

/// Most days of a window.
#define MOST_VALUES ((size_t)SR_TREND_WINDOW)

SrTrendTest
sr_trend_test(const double* const values, const size_t count)
{
  SrTrendTest test = {.p = 1.0};
  double twos = 0.0; // Pairs of equal values, for the size of each tied group
  for (size_t i = 0; i < count; ++i) {
    if (!isfinite(values[i])) {
      continue;
    }
    ++test.count;
    size_t equal = 1;
    bool first = true;
    for (size_t j = 0; j < count; ++j) {
      if (j == i || !isfinite(values[j])) {
        continue;
      }
      const double difference = values[j] - values[i];
      if (j > i) {
        test.s += (difference > 0.0) - (difference < 0.0);
      }
      if (difference == 0.0) {
        ++equal;
        first = first && j > i;
      }
    }
    // Each tied group once
    const double t = (double)equal;
    twos += first && equal > 1 ? t * (t - 1.0) * (2.0 * t + 5.0) : 0.0;
  }
  const double n = (double)test.count;
  test.variance = (n * (n - 1.0) * (2.0 * n + 5.0) - twos) / 18.0;
  if (test.variance > 0.0 && test.s != 0.0) {
    test.z = (test.s > 0.0 ? test.s - 1.0 : test.s + 1.0) / sqrt(test.variance);
    test.p = erfc(fabs(test.z) / sqrt(2.0));
  }
  return test;
}

double
sr_measure_of(const SrPracticeDay* const day, const SrMeasure measure)
{
  switch (measure) {
  case SR_MEASURE_CLEAN_BPM:
    return day->clean_bpm;
  case SR_MEASURE_CUTS:
    return day->cuts ? 100.0 * day->cuts_clean / day->cuts : (double)NAN;
  case SR_MEASURE_SPREAD:
    return day->spread_ms;
  case SR_MEASURE_OFFSET:
    return day->abs_offset_ms;
  case SR_MEASURE_ALONE:
    return day->alone_ms;
  case SR_MEASURE_AIR:
    return day->air ? 100.0 * day->air_heard / day->air : (double)NAN;
  }
  return (double)NAN;
}

/// Whether more of a measure is better.
static bool
is_better_higher(const SrMeasure measure)
{
  return measure == SR_MEASURE_CLEAN_BPM || measure == SR_MEASURE_CUTS;
}

/// Mean of the first or the last third of the values.
static double
mean_of_third(const double* const values, const size_t count, const bool last)
{
  const size_t third = count < 3 ? 1 : count / 3;
  double sum = 0.0;
  for (size_t i = 0; i < third && i < count; ++i) {
    sum += values[last ? count - 1 - i : i];
  }
  return count ? sum / (double)third : (double)NAN;
}

static SrMeasureTrend
test_measure(const SrPracticeDay* const days, const size_t count, const SrMeasure measure)
{
  double values[MOST_VALUES];
  size_t found = 0;
  for (size_t i = 0; i < count && found < MOST_VALUES; ++i) {
    const double value = sr_measure_of(&days[i], measure);
    if (isfinite(value)) {
      values[found++] = value;
    }
  }
  return (SrMeasureTrend){.trend = found >= SR_TREND_LEAST_DAYS ? SR_TREND_NONE : SR_TREND_UNTOLD,
                          .test = sr_trend_test(values, found),
                          .from = mean_of_third(values, found, false),
                          .to = mean_of_third(values, found, true)};
}

/// Tell what stands among all measures tested.
static void
tell(SrMeasureTrend measures[SR_MEASURE_COUNT])
{
  double chances[SR_MEASURE_COUNT];
  bool told[SR_MEASURE_COUNT];
  for (size_t i = 0; i < SR_MEASURE_COUNT; ++i) {
    chances[i] = measures[i].trend == SR_TREND_UNTOLD ? (double)NAN : measures[i].test.p;
  }
  sr_chance_holm(chances, SR_MEASURE_COUNT, TOLD_BY_CHANCE, told);
  for (size_t i = 0; i < SR_MEASURE_COUNT; ++i) {
    if (told[i]) {
      const bool up = measures[i].test.s > 0.0;
      measures[i].trend = up == is_better_higher((SrMeasure)i) ? SR_TREND_BETTER : SR_TREND_WORSE;
    }
  }
}

SrPhraseTrends
sr_phrase_trends(const SrPracticeDay* const days, const size_t count)
{
  SrPhraseTrends trends = {0};
  const int since = days[count - 1].day - SR_TREND_WINDOW + 1;
  size_t first = count;
  while (first > 0 && days[first - 1].day >= since) {
    --first;
  }
  trends.first_day = days[first].day;
  trends.days = count - first;
  for (size_t i = 0; i < SR_MEASURE_COUNT; ++i) {
    trends.measures[i] = test_measure(days + first, count - first, (SrMeasure)i);
  }
  tell(trends.measures);
  return trends;
}
