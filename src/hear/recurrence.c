// SPDX-License-Identifier: GPL-3.0-or-later

#include "recurrence.h"

#include "transform_size.h"
#include "tuning.h"

#include <fftw3.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Workspace for the autocorrelation of a block, piece by piece.
typedef struct {
  size_t size;
  float* samples;
  fftwf_complex* piece;  ///< Spectrum of a piece
  fftwf_complex* longer; ///< Spectrum of the piece and what follows it
  fftwf_complex* sum;    ///< Sum of the products of both
  fftwf_plan forward;    ///< `samples` to `longer`
  fftwf_plan back;       ///< `sum` to `samples`
} Correlation;

static void
correlation_clear(Correlation* const c)
{
  if (c->forward) {
    fftwf_destroy_plan(c->forward);
  }
  if (c->back) {
    fftwf_destroy_plan(c->back);
  }
  fftwf_free(c->samples);
  fftwf_free(c->piece);
  fftwf_free(c->longer);
  fftwf_free(c->sum);
}

/// False if out of memory.
static bool
correlation_make(Correlation* const c, const size_t lags)
{
  c->size = sr_transform_size(2 * lags);
  c->samples = fftwf_alloc_real(c->size);
  c->piece = fftwf_alloc_complex(c->size / 2 + 1);
  c->longer = fftwf_alloc_complex(c->size / 2 + 1);
  c->sum = fftwf_alloc_complex(c->size / 2 + 1);
  if (c->samples && c->piece && c->longer && c->sum) {
    c->forward = fftwf_plan_dft_r2c_1d((int)c->size, c->samples, c->longer, FFTW_ESTIMATE);
    c->back = fftwf_plan_dft_c2r_1d((int)c->size, c->sum, c->samples, FFTW_ESTIMATE);
  }
  return c->forward && c->back;
}

/// Add the correlation of a piece, the first `own` of `count` samples, with all of them.
static void
correlation_add(Correlation* const c, const float* const y, const size_t own, const size_t count)
{
  memset(c->samples, 0, c->size * sizeof(float));
  memcpy(c->samples, y, own * sizeof(float));
  fftwf_execute_dft_r2c(c->forward, c->samples, c->piece);
  memset(c->samples, 0, c->size * sizeof(float));
  memcpy(c->samples, y, count * sizeof(float));
  fftwf_execute(c->forward);
  for (size_t i = 0; i <= c->size / 2; ++i) {
    const float re = c->piece[i][0];
    const float im = c->piece[i][1];
    c->sum[i][0] += re * c->longer[i][0] + im * c->longer[i][1];
    c->sum[i][1] += re * c->longer[i][1] - im * c->longer[i][0];
  }
}

bool
sr_recurrence(const float* const y, const size_t count, float* const out, const size_t lags)
{
  Correlation c = {.size = 0};
  bool any = correlation_make(&c, lags);
  if (any) {
    memset(c.sum, 0, (c.size / 2 + 1) * sizeof(fftwf_complex));
    for (size_t start = 0; start < count; start += lags) {
      const size_t left = count - start;
      correlation_add(&c, y + start, left < lags ? left : lags, left < 2 * lags ? left : 2 * lags);
    }
    fftwf_execute(c.back);
    any = c.samples[0] > 0.0f;
  }
  for (size_t i = 0; any && i < lags; ++i) {
    // Longer lags have fewer samples
    out[i] = c.samples[i] / c.samples[0] * (float)count / (float)(count - i);
  }
  correlation_clear(&c);
  return any;
}

float
sr_recurrence_comb(const float* const c, const size_t lags, const double period)
{
  float sum = 0.0f;
  unsigned count = 0;
  for (unsigned times = 1; times <= MOST_TIMES; ++times) {
    const size_t lag = (size_t)lround(times * period);
    if (lag + 1 >= lags) {
      break;
    }
    sum += c[lag];
    ++count;
  }
  // A mean of few values varies more
  return count ? sum / sqrtf((float)count) : 0.0f;
}

size_t
sr_recurrence_phases(const float* const y, const size_t count, const double period,
                     const double rate_hz, double* const phases)
{
  const size_t length = (size_t)period + 1;
  const size_t bins = (size_t)(period / (BIN_S * rate_hz)) + 1;
  double* const once = (double*)calloc(2 * length, sizeof(double));
  double* const twice = once ? once + length : NULL;
  double* const sums = (double*)calloc(bins, sizeof(double));
  size_t found = 0;
  if (!sums || !once) {
    free(sums);
    free(once);
    return 0;
  }
  double left = 0.0;
  for (size_t i = 0; i < count; ++i) {
    once[(size_t)left] += (double)y[i];
    twice[(size_t)left] += (double)(y[i] * y[i]);
    left += 1.0;
    left -= left >= period ? period : 0.0;
  }
  for (size_t i = 0; i < length; ++i) {
    // The products of all pairs of periods
    const size_t bin = (size_t)((double)i / period * (double)bins);
    sums[bin < bins ? bin : bins - 1] += once[i] * once[i] - twice[i];
  }
  free(once);
  const size_t beside = (size_t)(BESIDE_PHASE_S / BIN_S);
  while (found < CLICK_FINDER_PHASES) {
    size_t best = 0;
    double most = 0.0;
    for (size_t i = 0; i < bins; ++i) {
      const double sum = sums[i] + sums[(i + 1) % bins] + sums[(i + 2) % bins];
      best = sum > most ? i : best;
      most = fmax(most, sum);
    }
    if (!(most > 0.0)) {
      break;
    }
    phases[found++] = fmod((double)best + 1.5, (double)bins) / (double)bins * period;
    for (size_t i = 0; i <= 2 * beside; ++i) {
      sums[(best + 1 + bins + i - beside) % bins] = 0.0;
    }
  }
  free(sums);
  return found;
}
