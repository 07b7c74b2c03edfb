// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file inter_onset_intervals.c
   Evenness of notes whose written lengths are unknown.
*/

#include "tuning.h"

#include <steadyreed/judge.h>

#include <math.h>

/// Number of units in a step; 0 if it is not close to a whole number of them.
static int
units_of(const double step, const double unit)
{
  const double units = round(step / unit);
  const bool fits = units >= 1.0 && units <= MOST_UNITS && fabs(step - units * unit) < FITS * unit;
  return fits ? (int)units : 0;
}

static size_t
fitting(const double* const steps, const size_t count, const double unit)
{
  size_t fits = 0;
  for (size_t i = 0; i < count; ++i) {
    fits += units_of(steps[i], unit) > 0;
  }
  return fits;
}

/// The unit by the steps from `first` to before `end` except `left_out`; `unit` itself if none fits
/// it.
static double
unit_of(const double* const steps, const size_t first, const size_t end, const size_t left_out,
        const double unit)
{
  double sum = 0.0;
  int units = 0;
  for (size_t i = first; i < end; ++i) {
    const int number = i == left_out ? 0 : units_of(steps[i], unit);
    sum += number > 0 ? steps[i] : 0.0;
    units += number;
  }
  return units ? sum / units : unit;
}

/// The step that most others are multiples of, the longest of several, refined by all that fit.
static double
common_unit(const double* const steps, const size_t count)
{
  double unit = 0.0;
  size_t most = 0;
  for (size_t i = 0; i < count; ++i) {
    const size_t fits = fitting(steps, count, steps[i]);
    if (fits > most || (fits == most && steps[i] > unit)) {
      most = fits;
      unit = steps[i];
    }
  }
  for (int again = 0; again < 3; ++again) {
    unit = unit_of(steps, 0, count, count, unit);
  }
  return unit;
}

SrIntervals
sr_judge_intervals(const double* const all, const size_t all_count)
{
  SrIntervals result = {.unit_s = (double)NAN, .stray_ms = (double)NAN};
  if (all_count < 3) {
    return result;
  }
  const size_t count = all_count < MOST_STEPS ? all_count : MOST_STEPS;
  const double* const steps = all + (all_count - count);
  const double unit = common_unit(steps, count);
  double sum = 0.0;
  double units = 0.0;
  size_t known = 0;
  for (size_t i = 0; i < count; ++i) {
    const int number = units_of(steps[i], unit);
    if (number > 0) {
      // By the local unit: the tempo may change
      const size_t first = i > BESIDE ? i - BESIDE : 0;
      const size_t end = i + BESIDE < count ? i + BESIDE + 1 : count;
      const double about = unit_of(steps, first, end, i, unit);
      sum += fabs(steps[i] - number * about);
      units += about;
      ++known;
    }
  }
  result.others = count - known;
  if (known >= 3) {
    result.unit_s = units / (double)known;
    result.stray_ms = 1e3 * sum / (double)known;
  }
  return result;
}
