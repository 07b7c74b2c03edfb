// SPDX-License-Identifier: GPL-3.0-or-later

#include "transform_size.h"

#include "transform_plans.h"
#include "tuning.h"

#include <steadyreed/click.h>

#include <fftw3.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Correlation between samples: Hann-windowed sinc.
static double
correlation_at(const float* const c, const size_t count, const double at)
{
  const long middle = lround(at);
  double sum = 0.0;
  for (long i = middle - ROUND_TRIP_REACH; i <= middle + ROUND_TRIP_REACH; ++i) {
    if (i < 0 || i >= (long)count) {
      continue;
    }
    const double x = at - (double)i;
    const double window = 0.5 + 0.5 * cos(M_PI * x / (ROUND_TRIP_REACH + 1.0));
    sum += (double)c[i] * window * (fabs(x) < 1e-9 ? 1.0 : sin(M_PI * x) / (M_PI * x));
  }
  return sum;
}

/// Position of the peak: the highest step between samples, refined by a parabola.
static double
peak_near(const float* const c, const size_t count, const size_t peak)
{
  const double sign = c[peak] < 0.0f ? -1.0 : 1.0;
  double best = (double)peak;
  double most = -HUGE_VAL;
  for (int i = -ROUND_TRIP_STEPS; i <= ROUND_TRIP_STEPS; ++i) {
    const double at = (double)peak + (double)i / ROUND_TRIP_STEPS;
    const double value = sign * correlation_at(c, count, at);
    if (value > most) {
      most = value;
      best = at;
    }
  }
  const double before = sign * correlation_at(c, count, best - 1.0 / ROUND_TRIP_STEPS);
  const double after = sign * correlation_at(c, count, best + 1.0 / ROUND_TRIP_STEPS);
  const double bend = before - 2.0 * most + after;
  return bend < 0.0 ? best + 0.5 * (before - after) / bend / ROUND_TRIP_STEPS : best;
}

/// The highest absolute value from `from` to before `to`; `from` is always included.
static size_t
highest(const float* const c, const size_t from, const size_t to)
{
  size_t best = from;
  for (size_t i = from; i < to; ++i) {
    best = fabsf(c[i]) > fabsf(c[best]) ? i : best;
  }
  return best;
}

static double
energy(const float* const c, const size_t from, const size_t to)
{
  double sum = 0.0;
  for (size_t i = from; i < to; ++i) {
    sum += (double)(c[i] * c[i]);
  }
  return sum;
}

static void
find_peak(const float* const c, const size_t lags, const size_t beside, double* const round_trip,
          double* const sureness)
{
  const size_t peak = highest(c, 0, lags);
  // Outside of the peak on either side
  const size_t before = peak > beside ? peak - beside : 0;
  const size_t behind = lags - peak > beside + 1 ? peak + beside + 1 : lags;
  const size_t others = before + (lags - behind);
  const double square = energy(c, 0, before) + energy(c, behind, lags);
  const double next = fmax(before > 0 ? (double)fabsf(c[highest(c, 0, before)]) : 0.0,
                           behind < lags ? (double)fabsf(c[highest(c, behind, lags)]) : 0.0);
  const double height = (double)fabsf(c[peak]);
  const double mean = others > 0 ? sqrt(square / (double)others) : 0.0;
  if (height > 0.0) {
    *sureness = next > 0.0 ? height / next : (double)INFINITY;
  }
  if (height > LEAST_OVER_MEAN * mean && *sureness > LEAST_SURENESS) {
    *round_trip = peak_near(c, lags, peak);
  }
}

SrStatus
sr_round_trip_measure(const float* const recorded, const size_t recorded_count,
                      const float* const sound, const size_t sound_count, double* const round_trip,
                      double* const sureness, SrError* const error)
{
  *round_trip = (double)NAN;
  *sureness = 0.0;
  if (sound_count == 0 || recorded_count < sound_count) {
    return SR_OK;
  }
  const size_t size = sr_transform_size(recorded_count + sound_count);
  float* const a = fftwf_alloc_real(size);
  float* const b = fftwf_alloc_real(size);
  fftwf_complex* const x = fftwf_alloc_complex(size / 2 + 1);
  fftwf_complex* const y = fftwf_alloc_complex(size / 2 + 1);
  fftwf_plan forward = NULL;
  fftwf_plan back = NULL;
  if (a && b && x && y) {
    forward = sr_transform_plan(size, a, x);
    back = sr_transform_plan_back(size, x, a);
  }
  const bool enough = forward && back;
  if (enough) {
    memset(a, 0, size * sizeof(float));
    memset(b, 0, size * sizeof(float));
    for (size_t i = 0; i < recorded_count; ++i) {
      a[i] = isfinite(recorded[i]) ? recorded[i] : 0.0f; // lost samples carry no information
    }
    memcpy(b, sound, sound_count * sizeof(float));
    fftwf_execute(forward);
    fftwf_execute_dft_r2c(forward, b, y);
    const float scale = 1.0f / (float)size;
    for (size_t i = 0; i <= size / 2; ++i) {
      const float re = x[i][0] * y[i][0] + x[i][1] * y[i][1];
      const float im = x[i][1] * y[i][0] - x[i][0] * y[i][1];
      x[i][0] = scale * re;
      x[i][1] = scale * im;
    }
    fftwf_execute(back);
    const size_t half = (size_t)(ROUND_TRIP_BESIDE_SHARE * (double)sound_count);
    find_peak(a, recorded_count - sound_count + 1, half < BESIDE_MOST ? half : BESIDE_MOST,
              round_trip, sureness);
  }
  if (forward) {
    fftwf_destroy_plan(forward);
  }
  if (back) {
    fftwf_destroy_plan(back);
  }
  fftwf_free(a);
  fftwf_free(b);
  fftwf_free(x);
  fftwf_free(y);
  return enough ? SR_OK
                : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to measure this.");
}
