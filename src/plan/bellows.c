// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/plan.h>

#include <math.h>

SrBellows
sr_bellows_default(void)
{
  const SrBellows bellows = {.at_a4 = 8.0, .octave_power = 0.5, .air_most = 40.0, .start = 0.5};
  return bellows;
}

int
sr_bellows_use(const SrBellows* const bellows, const int midi, const double seconds)
{
  const double octaves_lower = (69.0 - midi) / 12.0;
  const double a_second = bellows->at_a4 * exp2(octaves_lower * bellows->octave_power);
  const long units = lround(a_second * seconds);
  return units < 1 ? 1 : (int)units;
}

/// If all pitches are within this, octaves, they do not show how use depends on pitch.
#define LEAST_REACH 0.3
/// A fit outside this range is not a concertina.
#define MOST_POWER 2.0

SrStatus
sr_bellows_fit(const SrStroke* const strokes, const size_t count, SrBellows* const bellows,
               double* const uncertainty)
{
  double sum_x = 0.0;
  double sum_y = 0.0;
  double least_x = (double)INFINITY;
  double most_x = -(double)INFINITY;
  *uncertainty = (double)NAN;
  for (size_t i = 0; i < count; ++i) {
    if (!(strokes[i].seconds > 0.0)) {
      return SR_BAD_ARGUMENT;
    }
    const double x = (69.0 - strokes[i].midi) / 12.0;
    sum_x += x;
    sum_y += log2(SR_BELLOWS_UNITS / strokes[i].seconds);
    least_x = fmin(least_x, x);
    most_x = fmax(most_x, x);
  }
  if (count == 0) {
    return SR_BAD_ARGUMENT;
  }
  const double n = (double)count;
  double sum_xx = 0.0;
  double sum_xy = 0.0;
  for (size_t i = 0; i < count; ++i) {
    const double x = (69.0 - strokes[i].midi) / 12.0 - sum_x / n;
    sum_xx += x * x;
    sum_xy += x * (log2(SR_BELLOWS_UNITS / strokes[i].seconds) - sum_y / n);
  }
  if (most_x - least_x >= LEAST_REACH) {
    bellows->octave_power = fmin(fmax(sum_xy / sum_xx, -MOST_POWER), MOST_POWER);
  }
  const double at_a4 = sum_y / n - bellows->octave_power * sum_x / n;
  bellows->at_a4 = fmin(fmax(exp2(at_a4), 0.5), SR_BELLOWS_UNITS);
  double squares = 0.0;
  for (size_t i = 0; i < count; ++i) {
    const double x = (69.0 - strokes[i].midi) / 12.0;
    const double off =
        log2(SR_BELLOWS_UNITS / strokes[i].seconds) - at_a4 - bellows->octave_power * x;
    squares += off * off;
  }
  if (count >= 3) {
    *uncertainty = exp2(sqrt(squares / (n - 2.0))) - 1.0;
  }
  return SR_OK;
}
