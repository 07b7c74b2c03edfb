// SPDX-License-Identifier: GPL-3.0-or-later

#include "recurrence.h"

#include "../hot.h"
#include "real_transform.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Most pieces of lags that are correlated.
#define PIECES 5u
/// Periods whose samples are added at once.
#define FOLD_ROWS 4u
/// Places in a period that are summed at once.
#define FOLD_PLACES 256u

/// Workspace for the autocorrelation of a block, piece by piece. A piece of the block is correlated
/// with itself and the next one, and with the pairs that follow, each of which gives the lags of
/// one piece's length. All transforms have twice that length, so the spectrum of a pair is the sum
/// of those of its pieces, the second with every other bin negated. Few small transforms, of a
/// length that is planned quickly, take less time than a large one.
typedef struct {
  size_t piece; ///< Samples in a piece
  size_t bins;
  size_t parts;           ///< Pieces of lags
  fftwf_complex* spectra; ///< Of the last `parts` + 1 pieces, a ring
  fftwf_complex* pair;    ///< Spectrum of the last pair
  fftwf_complex* sums;    ///< Of each part of the lags, the products of pieces and pairs
  SrRealTransform* transform;
} Correlation;

static void
correlation_clear(Correlation* const c)
{
  sr_real_transform_del(c->transform);
  free(c->spectra);
  free(c->pair);
  free(c->sums);
}

/// False if out of memory.
static bool
correlation_make(Correlation* const c, const size_t lags)
{
  c->piece = 64;
  while (PIECES * c->piece < lags) {
    c->piece *= 2;
  }
  // Whole vectors for each spectrum
  c->bins = c->piece + 8;
  c->parts = (lags + c->piece - 1) / c->piece;
  c->transform = sr_real_transform_new(2 * c->piece);
  c->spectra = (fftwf_complex*)calloc((c->parts + 1) * c->bins, sizeof(fftwf_complex));
  c->pair = (fftwf_complex*)malloc(c->bins * sizeof(fftwf_complex));
  c->sums = (fftwf_complex*)calloc(c->parts * c->bins, sizeof(fftwf_complex));
  return c->spectra && c->pair && c->sums && c->transform;
}

/// Spectrum of a pair from those of its pieces.
SR_HOT static void
join(fftwf_complex* const first, fftwf_complex* const second, const size_t bins,
     fftwf_complex* const pair)
{
  for (size_t i = 0; i < bins; i += 2) {
    pair[i][0] = first[i][0] + second[i][0];
    pair[i][1] = first[i][1] + second[i][1];
    pair[i + 1][0] = first[i + 1][0] - second[i + 1][0];
    pair[i + 1][1] = first[i + 1][1] - second[i + 1][1];
  }
}

/// Add the spectrum of the correlation of a piece with a pair.
SR_HOT static void
add_product(fftwf_complex* const piece, fftwf_complex* const pair, const size_t bins,
            fftwf_complex* const sum)
{
  for (size_t i = 0; i < bins; ++i) {
    const float re = piece[i][0];
    const float im = piece[i][1];
    sum[i][0] += re * pair[i][0] + im * pair[i][1];
    sum[i][1] += re * pair[i][1] - im * pair[i][0];
  }
}

/// The place of a piece's spectrum.
static fftwf_complex*
spectrum_of(const Correlation* const c, const size_t piece)
{
  return c->spectra + piece % (c->parts + 1) * c->bins;
}

/// Correlate all pieces of a block.
static void
correlate(Correlation* const c, const float* const y, const size_t count)
{
  const size_t pieces = (count + c->piece - 1) / c->piece;
  // The last one makes a pair with nothing
  for (size_t k = 0; k <= pieces; ++k) {
    const size_t start = k * c->piece;
    const size_t left = k < pieces ? count - start : 0;
    const size_t own = left < c->piece ? left : c->piece;
    float* const samples = sr_real_transform_samples(c->transform);
    memcpy(samples, y + (own ? start : 0), own * sizeof(float));
    memset(samples + own, 0, (2 * c->piece - own) * sizeof(float));
    sr_real_transform_do(c->transform, 0, c->piece + 1, spectrum_of(c, k));
    if (k == 0) {
      continue;
    }
    join(spectrum_of(c, k - 1), spectrum_of(c, k), c->bins, c->pair);
    for (size_t part = 0; part < c->parts && part < k; ++part) {
      add_product(spectrum_of(c, k - 1 - part), c->pair, c->bins, c->sums + part * c->bins);
    }
  }
}

/// Values relative to the first one of all, each for the samples that it is of: `here` for the
/// first, then one fewer each time.
SR_HOT static void
relate(const float* const values, const float first, const size_t all, const size_t here,
       float* const out, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    // Longer lags have fewer samples
    out[i] = values[i] / first * (float)all / (float)(int)(here - i);
  }
}

bool
sr_recurrence(const float* const y, const size_t count, float* const out, const size_t lags)
{
  Correlation c = {.piece = 0};
  bool any = correlation_make(&c, lags);
  if (any) {
    correlate(&c, y, count);
  }
  float all = 0.0f;
  for (size_t part = 0; any && part < c.parts; ++part) {
    sr_real_transform_back(c.transform, c.sums + part * c.bins);
    const float* const samples = sr_real_transform_samples(c.transform);
    all = part == 0 ? samples[0] : all;
    any = all > 0.0f;
    const size_t start = part * c.piece;
    if (any) {
      const size_t here = lags - start < c.piece ? lags - start : c.piece;
      relate(samples, all, count, count - start, out + start, here);
    }
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
      beyond[times - 1][step] =
          (2 * times * step + CLICK_FINDER_STEPS) / (2 * (size_t)CLICK_FINDER_STEPS);
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
