// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/level_curve.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_RATE_HZ 1000.0

/// Level of one window.
static double
level_of(const float* const samples, const size_t count)
{
  double sum = 0.0;
  for (size_t i = 0; i < count; ++i) {
    sum += (double)samples[i] * (double)samples[i];
  }
  const double level = 10.0 * log10(sum / (double)count);
  return isfinite(level) ? fmax(SR_LEVEL_LEAST_DB, level) : SR_LEVEL_LEAST_DB;
}

SrStatus
sr_level_curve(const float* const samples, const size_t count, const double rate_hz,
               const double start_s, SrLevelCurve* const curve)
{
  memset(curve, 0, sizeof(*curve));
  if (!(rate_hz >= LEAST_RATE_HZ) || !isfinite(rate_hz)) {
    return SR_BAD_ARGUMENT;
  }
  // Windows begin at the nearest sample, so that they do not drift at any rate
  const size_t windows = (size_t)floor((double)count / (SR_LEVEL_STEP_S * rate_hz) + 1e-9);
  curve->level_db = malloc((windows + 1) * sizeof(double));
  if (!curve->level_db) {
    return SR_NO_MEMORY;
  }
  curve->start_s = start_s;
  curve->count = windows;
  for (size_t i = 0; i < windows; ++i) {
    const size_t from = (size_t)lround((double)i * SR_LEVEL_STEP_S * rate_hz);
    const size_t next = (size_t)lround((double)(i + 1) * SR_LEVEL_STEP_S * rate_hz);
    const size_t to = next < count ? next : count;
    curve->level_db[i] = level_of(samples + from, to - from);
  }
  return SR_OK;
}

void
sr_level_curve_clear(SrLevelCurve* const curve)
{
  free(curve->level_db);
  memset(curve, 0, sizeof(*curve));
}
