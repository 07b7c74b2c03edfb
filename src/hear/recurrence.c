// SPDX-License-Identifier: GPL-3.0-or-later

#include "recurrence.h"

#include "../hot.h"
#include "transform_size.h"
#include "tuning.h"

#include <fftw3.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Periods whose samples are added at once.
#define FOLD_ROWS 4u
/// Places in a period that are summed at once.
#define FOLD_PLACES 256u

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

void
sr_recurrence_combs(const float* const c, const size_t lags, const size_t from, const size_t to,
                    float* const combs)
{
  // For each multiple, the rounded lags of the periods within one sample, from that of the first
  size_t beyond[MOST_TIMES][CLICK_FINDER_STEPS];
  for (size_t times = 1; times <= MOST_TIMES; ++times) {
    for (size_t step = 0; step < CLICK_FINDER_STEPS; ++step) {
      beyond[times - 1][step] = (2 * times * step + CLICK_FINDER_STEPS) / (2 * CLICK_FINDER_STEPS);
    }
  }
  for (size_t whole = from; whole < to; ++whole) {
    float* const comb = combs + (whole - from) * CLICK_FINDER_STEPS;
    float sums[CLICK_FINDER_STEPS] = {0.0f};
    if (MOST_TIMES * (whole + 1) + 1 < lags) {
      for (size_t k = 0; k < MOST_TIMES; ++k) {
        for (size_t step = 0; step < CLICK_FINDER_STEPS; ++step) {
          sums[step] += c[(k + 1) * whole + beyond[k][step]];
        }
      }
      for (size_t step = 0; step < CLICK_FINDER_STEPS; ++step) {
        // A mean of few values varies more
        comb[step] = sums[step] / sqrtf((float)MOST_TIMES);
      }
      continue;
    }
    for (size_t step = 0; step < CLICK_FINDER_STEPS; ++step) {
      size_t count = 0;
      while (count < MOST_TIMES && (count + 1) * whole + beyond[count][step] + 1 < lags) {
        sums[step] += c[(count + 1) * whole + beyond[count][step]];
        ++count;
      }
      comb[step] = count ? sums[step] / sqrtf((float)count) : 0.0f;
    }
  }
}

/// Where a period begins in a block.
typedef struct {
  size_t first; ///< Its first sample
  double phase; ///< Of that sample, under 1
} Beginning;

/// The beginning of the next one.
static Beginning
next_beginning(const Beginning at, const double period)
{
  const double samples = ceil(period - at.phase);
  return (Beginning){at.first + (size_t)samples, at.phase + samples - period};
}

/// Add the samples of some periods, in their order, and their squares.
SR_PART void
add_rows(const float* const* const rows, const size_t row_count, const size_t count,
         double* const once, double* const twice)
{
  for (size_t i = 0; i < count; ++i) {
    double sum = once[i];
    double squares = twice[i];
    for (size_t r = 0; r < row_count; ++r) {
      const float v = rows[r][i];
      sum += (double)v;
      squares += (double)(v * v);
    }
    once[i] = sum;
    twice[i] = squares;
  }
}

/// Sum the samples of a block at each of some places in a period, and their squares.
SR_HOT static void
fold(const float* const y, const size_t count, const double period, const size_t place,
     const size_t places, double* const once, double* const twice)
{
  const float* rows[FOLD_ROWS];
  size_t waiting = 0;
  Beginning at = {0, 0.0};
  while (at.first + place < count) {
    const Beginning next = next_beginning(at, period);
    const size_t end = next.first < count ? next.first : count;
    const size_t here = end - at.first - place;
    rows[waiting++] = y + at.first + place;
    if (here >= places && waiting == FOLD_ROWS) {
      add_rows(rows, FOLD_ROWS, places, once, twice);
      waiting = 0;
    } else if (here < places) {
      // The last place, which not every period has, or the end of the block
      for (size_t r = 0; r < waiting; ++r) {
        add_rows(&rows[r], 1, r + 1 < waiting ? places : here, once, twice);
      }
      waiting = 0;
    }
    at = next;
  }
  for (size_t r = 0; r < waiting; ++r) {
    add_rows(&rows[r], 1, places, once, twice);
  }
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
  // A few places at a time stay in the cache while all periods are added
  for (size_t place = 0; place < length; place += FOLD_PLACES) {
    const size_t places = length - place < FOLD_PLACES ? length - place : FOLD_PLACES;
    fold(y, count, period, place, places, once + place, twice + place);
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
      const size_t second = i + 1 < bins ? i + 1 : 0;
      const size_t third = second + 1 < bins ? second + 1 : 0;
      const double sum = sums[i] + sums[second] + sums[third];
      best = sum > most ? i : best;
      most = sum > most ? sum : most;
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
