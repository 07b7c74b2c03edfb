// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file measures.c
   Published formulas; judge.h gives their sources.
*/

#include <steadyreed/judge.h>

#include <math.h>

double
sr_judge_npvi(const double* const durations, const size_t count)
{
  if (count < 2) {
    return (double)NAN;
  }
  double sum = 0.0;
  for (size_t i = 0; i + 1 < count; ++i) {
    const double a = durations[i];
    const double b = durations[i + 1];
    sum += fabs((a - b) / (0.5 * (a + b)));
  }
  return 100.0 * sum / (double)(count - 1);
}

double
sr_judge_just_noticeable_ms(const double interval_ms)
{
  return interval_ms < 240.0 ? 6.0 : 0.025 * interval_ms;
}

double
sr_judge_frequency_hz(const double midi, const double reference_hz)
{
  return reference_hz * exp2((midi - 69.0) / 12.0);
}
