// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_finder.c
   Finds a click in a recording made elsewhere: what recurs with one period, the same to a fraction
   of a millisecond, is no player. The transients (transients.h) are correlated with themselves; the
   period whose multiples stand out most, and the phase on which all pairs of periods agree, are
   tried as a click, each one searched within 2 ms by its likeness to the mean of the others.

   A reed that speaks in the same way on each beat, as in a tune from a machine, is alike only where
   the same note comes. So clicks count only if those among different notes are alike too. Two
   sounds in turn show as a period of two clicks, which is then divided (parts_of()). The result is
   what the click remover searches for; src/app/judging.c decides how many pulses lie from click to
   click, and whether the clicks are only notes. Whether the player keeps to the click makes no
   difference to finding it (sets `there` and `apart` of tests/accuracy/test_found_click.c).
*/

#include "simd.h"
#include "transform_size.h"
#include "transients.h"
#include "tuning.h"

#include <steadyreed/click.h>

#include <fftw3.h>

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Part after it, s: short and long clicks.
static const double behind_s[] = {0.008, 0.036};

struct SrClickFinderImpl {
  double rate_hz;
  SrTransients* transients;
  float* sounds; ///< Plain, accented
  double* times; ///< Of each click found
};

/// Expected positions of the clicks, in samples of the transients.
typedef struct {
  double first;
  double period;
} Grid;

/// A click that was searched.
typedef struct {
  double at;
  double like; ///< Correlation with the mean of the others, -1 to 1
  bool there;
  float share; ///< Its weight in that mean
  long start;  ///< First sample that went into the mean
} Found;

typedef struct {
  const float* y;
  size_t count;
  double rate_hz;
  const SrTransients* transients;
  size_t before; ///< Samples of a click's sound before its strongest moment
  size_t length;
  float* shape;  ///< Sum of the clicks' sounds; `length` and zeros up to whole vectors
  float* others; ///< The same without one of them
  float* around; ///< The recording around one click: sr_vector_padded(length) + shifts
  float* like;   ///< Its correlation with the others at each of `shifts` shifts
  size_t shifts; ///< Two more than are searched
  Found* found;
  size_t found_count;
  size_t first_there; ///< Of those present
  size_t last_there;
} Search;

/// Workspace for the autocorrelation of a block, piece by piece.
typedef struct {
  size_t size;
  float* samples;
  fftwf_complex* piece; ///< Spectrum of a piece
  fftwf_complex* on;    ///< Of the piece and what follows it
  fftwf_complex* sum;   ///< Sum of the products of both
  fftwf_plan forward;   ///< `samples` to `on`
  fftwf_plan back;      ///< `sum` to `samples`
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
  fftwf_free(c->on);
  fftwf_free(c->sum);
}

/// False if out of memory.
static bool
correlation_make(Correlation* const c, const size_t lags)
{
  c->size = sr_transform_size(2 * lags);
  c->samples = fftwf_alloc_real(c->size);
  c->piece = fftwf_alloc_complex(c->size / 2 + 1);
  c->on = fftwf_alloc_complex(c->size / 2 + 1);
  c->sum = fftwf_alloc_complex(c->size / 2 + 1);
  if (c->samples && c->piece && c->on && c->sum) {
    c->forward = fftwf_plan_dft_r2c_1d((int)c->size, c->samples, c->on, FFTW_ESTIMATE);
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
    c->sum[i][0] += re * c->on[i][0] + im * c->on[i][1];
    c->sum[i][1] += re * c->on[i][1] - im * c->on[i][0];
  }
}

/// Autocorrelation of a block, relative to lag 0. `out` receives `lags` values; false if out of
/// memory or if the block is silent.
static bool
correlate(const float* const y, const size_t count, float* const out, const size_t lags)
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

/// Score of a period: sum of the autocorrelation at its multiples, up to the longest lag, over the
/// square root of their number.
static float
comb_at(const float* const c, const size_t lags, const double period)
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

/// Phases in a period at which sounds repeat: at most CLICK_FINDER_PHASES, the strongest first.
/// Returns their number.
static size_t
find_phases(const float* const y, const size_t count, const double period, const double rate_hz,
            double* const phases)
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

static float
sample_at(const Search* const s, const long i)
{
  return i < 0 || (size_t)i >= s->count ? 0.0f : s->y[i];
}

/// Sum the sounds of the clicks present.
static void
average(const Search* const s)
{
  memset(s->shape, 0, s->length * sizeof(float));
  for (size_t k = 0; k < s->found_count; ++k) {
    Found* const click = &s->found[k];
    click->share = 0.0f;
    if (!click->there) {
      continue;
    }
    click->start = lround(click->at) - (long)s->before;
    float energy = 1e-9f;
    for (size_t i = 0; i < s->length; ++i) {
      const float v = sample_at(s, click->start + (long)i);
      energy += v * v;
    }
    // All clicks have the same weight
    click->share = 1.0f / sqrtf(energy);
    for (size_t i = 0; i < s->length; ++i) {
      s->shape[i] += click->share * sample_at(s, click->start + (long)i);
    }
  }
}

/// Inner product of any samples with SIMD vectors.
SR_PART float
product(const float* const samples, const float* const vectors, const size_t padded)
{
  const SrVector* const whole = (const SrVector*)(const void*)vectors;
  SrVector sum = {0};
  for (size_t i = 0; i < padded / SR_VECTOR_SIZE; ++i) {
    SrVector v;
    memcpy(&v, samples + i * SR_VECTOR_SIZE, sizeof(v));
    sum += v * whole[i];
  }
  return sr_vector_sum(&sum);
}

/// Correlate samples, from each of the first `count` on, with vectors.
SR_HOT static void
correlate_shifts(const float* const samples, const float* const vectors, const size_t padded,
                 float* const out, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    out[i] = product(samples + i, vectors, padded);
  }
}

/// Correlation of the recording from `from` on with the mean of the other clicks, for each shift.
static void
like_others(const Search* const s, const Found* const click, const long from)
{
  double others = 1e-12;
  for (size_t i = 0; i < s->length; ++i) {
    s->others[i] = s->shape[i] - click->share * sample_at(s, click->start + (long)i);
    others += (double)(s->others[i] * s->others[i]);
  }
  const size_t padded = sr_vector_padded(s->length);
  memset(s->others + s->length, 0, (padded - s->length) * sizeof(float));
  for (size_t i = 0; i < padded + s->shifts; ++i) {
    s->around[i] = sample_at(s, from + (long)i);
  }
  correlate_shifts(s->around, s->others, padded, s->like, s->shifts);
  double own = 1e-12;
  for (size_t i = 0; i < s->length; ++i) {
    own += (double)(s->around[i] * s->around[i]);
  }
  for (size_t i = 0; i < s->shifts; ++i) {
    s->like[i] = (float)((double)s->like[i] / sqrt(fmax(own, 1e-12) * others));
    own += (double)(s->around[i + s->length] * s->around[i + s->length]) -
           (double)(s->around[i] * s->around[i]);
  }
}

/// Search for the clicks `first` to before `end` near their times.
static void
look(const Search* const s, const Grid* const grid, const size_t first, const size_t end)
{
  for (size_t k = first; k < end; ++k) {
    Found* const click = &s->found[k];
    const double due = grid->first + (double)k * grid->period;
    const long start = lround(due) - (long)(s->shifts / 2);
    like_others(s, click, start - (long)s->before);
    size_t best = 1;
    for (size_t i = 1; i + 1 < s->shifts; ++i) {
      best = s->like[i] > s->like[best] ? i : best;
    }
    click->like = (double)s->like[best];
    click->at = (double)(start + (long)best);
    if (click->like > LEAST_LIKE) {
      const double a = (double)s->like[best - 1];
      const double b = (double)s->like[best + 1];
      const double bend = a - 2.0 * click->like + b;
      click->at += bend < 0.0 ? fmax(-0.5, fmin(0.5, 0.5 * (a - b) / bend)) : 0.0;
    }
    click->there = click->like > LEAST_LIKE && fabs(click->at - due) < IN_TIME_S * s->rate_hz;
  }
}

/// Fit a line through the clicks present; false if they are too few.
static bool
fit(const Search* const s, Grid* const grid)
{
  double n = 0.0;
  double sx = 0.0;
  double sy = 0.0;
  double sxx = 0.0;
  double sxy = 0.0;
  for (size_t k = 0; k < s->found_count; ++k) {
    if (s->found[k].there) {
      const double x = (double)k;
      n += 1.0;
      sx += x;
      sy += s->found[k].at;
      sxx += x * x;
      sxy += x * s->found[k].at;
    }
  }
  const double spread = n * sxx - sx * sx;
  if (n < (double)LEAST_CLICKS || !(spread > 0.0)) {
    return false;
  }
  grid->period = (n * sxy - sx * sy) / spread;
  grid->first = (sy - grid->period * sx) / n;
  return true;
}

/// Correlation of two spectra, 0 to 1; 1 if both are empty.
static double
likeness(const float* const a, const float* const b, const size_t bins)
{
  double aa = 1e-12;
  double bb = 1e-12;
  double ab = 1e-12;
  for (size_t i = 0; i < bins; ++i) {
    aa += (double)(a[i] * a[i]);
    bb += (double)(b[i] * b[i]);
    ab += (double)(a[i] * b[i]);
  }
  return ab / sqrt(aa * bb);
}

/// Correlation of the sounds at two clicks.
static double
alike(const Search* const s, const Found* const a, const Found* const b)
{
  const long one = lround(a->at) - (long)s->before;
  const long two = lround(b->at) - (long)s->before;
  double aa = 1e-12;
  double bb = 1e-12;
  double ab = 0.0;
  for (size_t i = 0; i < s->length; ++i) {
    const double x = (double)sample_at(s, one + (long)i);
    const double y = (double)sample_at(s, two + (long)i);
    aa += x * x;
    bb += y * y;
    ab += x * y;
  }
  return ab / sqrt(aa * bb);
}

/// Mean correlation of pairs of clicks that cannot have a note in common, since different notes
/// start or sound there, or none starts; from the first click present to the last. `pairs` receives
/// their number.
static double
alike_elsewhere(const Search* const s, size_t* const pairs)
{
  double sum = 0.0;
  size_t count = 0;
  for (size_t i = s->first_there; i <= s->last_there; ++i) {
    size_t bins = 0;
    const double at_s = s->found[i].at / s->rate_hz;
    const float* const after = sr_transients_spectrum(s->transients, at_s + BESIDE_S, &bins);
    const float* const before = sr_transients_spectrum(s->transients, at_s - BESIDE_S, &bins);
    if (!after || !before) {
      continue;
    }
    const bool steady = likeness(before, after, bins) > OTHERWISE;
    for (size_t j = i + 1; j <= s->last_there && j < i + CLICK_FINDER_MOST_APART; ++j) {
      const double other_s = s->found[j].at / s->rate_hz;
      const float* const other = sr_transients_spectrum(s->transients, other_s + BESIDE_S, &bins);
      if (other && (steady || likeness(after, other, bins) < OTHERWISE)) {
        sum += alike(s, &s->found[i], &s->found[j]);
        ++count;
      }
    }
  }
  *pairs = count;
  return count ? sum / (double)count : 0.0;
}

/// Whether there are clicks of one length on a grid, which is refined.
static bool
try_length(Search* const s, const size_t block_start, const size_t block_count, const double phase,
           const double length_s, Grid* const grid)
{
  s->length = s->before + (size_t)(length_s * s->rate_hz);
  // From the first one possible in the recording
  const double first = (double)block_start + phase;
  grid->first = first - floor(first / grid->period) * grid->period;
  s->found_count = (size_t)(((double)s->count - grid->first) / grid->period);
  Found* const more = (Found*)realloc(s->found, (s->found_count + 1) * sizeof(Found));
  if (!more || s->found_count < LEAST_CLICKS) {
    s->found = more ? more : s->found;
    return false;
  }
  s->found = more;
  size_t first_in = s->found_count;
  size_t end_in = 0;
  for (size_t k = 0; k < s->found_count; ++k) {
    const double at = grid->first + (double)k * grid->period;
    const bool in_block = at >= (double)block_start && at < (double)(block_start + block_count);
    s->found[k] = (Found){.at = at, .there = in_block};
    first_in = in_block && k < first_in ? k : first_in;
    end_in = in_block ? k + 1 : end_in;
  }
  // In the block first: most periodic sounds there are not clicks
  bool is = true;
  for (int turn = 0; is && turn < 3; ++turn) {
    average(s);
    look(s, grid, turn ? 0 : first_in, turn ? s->found_count : end_in);
    is = fit(s, grid);
  }
  size_t there = 0;
  for (size_t k = 0; k < s->found_count; ++k) {
    if (s->found[k].there) {
      s->first_there = there ? s->first_there : k;
      s->last_there = k;
      ++there;
    }
  }
  size_t pairs = 0;
  const double elsewhere = is ? alike_elsewhere(s, &pairs) : 0.0;
  const double share = is ? (double)there / (double)(s->last_there - s->first_there + 1) : 0.0;
  return is && share > CLICK_FINDER_LEAST_SHARE && pairs >= LEAST_PAIRS && elsewhere > LEAST_ALIKE;
}

/// Whether there are clicks with a period; `grid` receives their positions.
static bool
try_lag(Search* const s, const size_t block_start, const size_t block_count, Grid* const grid)
{
  const Grid asked = *grid;
  double phases[CLICK_FINDER_PHASES];
  const size_t count =
      find_phases(s->y + block_start, block_count, grid->period, s->rate_hz, phases);
  for (size_t p = 0; p < count; ++p) {
    for (size_t i = 0; i < sizeof(behind_s) / sizeof(behind_s[0]); ++i) {
      *grid = asked;
      if (try_length(s, block_start, block_count, phases[p], behind_s[i], grid)) {
        return true;
      }
    }
  }
  return false;
}

/// How long before their times the clicks begin, samples; 0 if out of memory.
static double
find_onset(const Search* const s, const Grid* const grid)
{
  const size_t reach = (size_t)(ONSET_REACH_S * s->rate_hz);
  const size_t quiet = (size_t)(QUIET_S * s->rate_hz);
  const size_t behind = (size_t)(behind_s[1] * s->rate_hz);
  const size_t smooth = (size_t)(CLICK_FINDER_SMOOTH_S * s->rate_hz) + 1;
  const size_t count = quiet + reach + behind;
  double* const course = (double*)calloc(count, sizeof(double));
  if (!course) {
    return 0.0;
  }
  // Over all expected clicks: each may be masked by a note that starts with it
  for (size_t k = s->first_there; k <= s->last_there; ++k) {
    const long start = lround(grid->first + (double)k * grid->period) - (long)(reach + quiet);
    for (size_t i = 0; i < count; ++i) {
      course[i] += (double)sample_at(s, start + (long)i);
    }
  }
  double sum = 0.0;
  for (size_t i = 0; i < count; ++i) {
    course[i] *= course[i];
  }
  // Mean over the samples that follow each one
  for (size_t i = 0; i < count; ++i) {
    sum = 0.0;
    for (size_t j = i; j < i + smooth && j < count; ++j) {
      sum += course[j];
    }
    course[i] = sqrt(sum / (double)smooth);
  }
  double before = 0.0;
  for (size_t i = 0; i < quiet; ++i) {
    before = fmax(before, course[i]);
  }
  double most = 0.0;
  for (size_t i = quiet; i < count; ++i) {
    most = fmax(most, course[i]);
  }
  const double least = fmax(ONSET_SHARE * most, ONSET_OVER * before);
  size_t onset = quiet;
  while (onset + 1 < quiet + reach && course[onset] < least) {
    ++onset;
  }
  double risen = 0.0;
  const size_t rise = onset + (size_t)(RISE_S * s->rate_hz);
  for (size_t i = onset; i < rise && i < count; ++i) {
    risen = fmax(risen, course[i]);
  }
  while (onset + 1 < count && course[onset] < HALF_POWER * risen) {
    ++onset;
  }
  free(course);
  return (double)(quiet + reach) - (double)(onset + smooth);
}

/// Mean correlation of what follows each click by `offset` with the same a period later.
static double
alike_behind(const Search* const s, const double offset)
{
  double sum = 0.0;
  size_t count = 0;
  for (size_t k = 0; k + 1 < s->found_count; ++k) {
    if (s->found[k].there && s->found[k + 1].there) {
      const Found a = {.at = s->found[k].at + offset};
      const Found b = {.at = s->found[k + 1].at + offset};
      sum += alike(s, &a, &b);
      ++count;
    }
  }
  return count ? sum / (double)count : 0.0;
}

/// The number of even parts into which clicks, perhaps with another sound, divide the period; 1 if
/// there are none.
static unsigned
parts_of(const Search* const s, const Grid* const grid)
{
  static const unsigned most = 8;
  const double whole = alike_behind(s, 0.0);
  for (unsigned parts = most; parts > 1; --parts) {
    double least = 1.0;
    for (unsigned i = 1; i < parts; ++i) {
      least = fmin(least, alike_behind(s, grid->period * (double)i / (double)parts));
    }
    if (grid->period / (double)parts > CLICK_FINDER_LEAST_PERIOD_S * s->rate_hz &&
        least > PART_ALIKE * whole) {
      return parts;
    }
  }
  return 1;
}

/// Search one block for clicks by its periodicity.
static bool
search_block(Search* const s, const size_t start, const size_t count, Grid* const grid,
             bool* const enough)
{
  const size_t most = (size_t)(MOST_LAG_S * s->rate_hz);
  const size_t lags = count / 2 < most ? count / 2 : most;
  const size_t from = (size_t)(CLICK_FINDER_LEAST_PERIOD_S * s->rate_hz);
  const size_t longest = (size_t)(MOST_PERIOD_S * s->rate_hz);
  const size_t to = lags < longest ? lags : longest;
  if (to < 2 * from) {
    return false;
  }
  float* const c = (float*)malloc(lags * sizeof(float));
  *enough = c != NULL;
  bool is = false;
  if (c && correlate(s->y + start, count, c, lags)) {
    const size_t places = CLICK_FINDER_STEPS * (to - from);
    float* const comb = (float*)malloc(places * sizeof(float));
    double squares = 0.0;
    for (size_t i = 0; comb && i < places; ++i) {
      comb[i] = comb_at(c, lags, (double)from + (double)i / CLICK_FINDER_STEPS);
      squares += (double)(comb[i] * comb[i]);
    }
    const float deviation = (float)sqrt(squares / (double)places);
    *enough = comb != NULL;
    for (size_t k = 0; comb && k < CLICK_FINDER_MOST_LAGS && !is; ++k) {
      size_t best = 0;
      for (size_t i = 0; i < places; ++i) {
        best = comb[i] > comb[best] ? i : best;
      }
      if (comb[best] < (float)LEAST_HEIGHT * deviation) {
        break;
      }
      *grid = (Grid){.period = (double)from + (double)best / CLICK_FINDER_STEPS};
      is = try_lag(s, start, count, grid);
      // Neighbouring periods are the same
      const size_t beside = (size_t)(BESIDE_LAG_S * s->rate_hz) * CLICK_FINDER_STEPS;
      for (size_t i = best > beside ? best - beside : 0; i < best + beside && i < places; ++i) {
        comb[i] = 0.0f;
      }
    }
    free(comb);
  }
  free(c);
  return is;
}

SrStatus
sr_click_finder_new(const double rate_hz, SrClickFinder** const finder, SrError* const error)
{
  *finder = NULL;
  SrClickFinder* const f = (SrClickFinder*)calloc(1, sizeof(SrClickFinder));
  if (f) {
    f->rate_hz = rate_hz;
    f->transients = sr_transients_new(rate_hz, SEARCHED_S);
  }
  if (!f || !f->transients) {
    sr_click_finder_del(f);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to look for clicks.");
  }
  *finder = f;
  return SR_OK;
}

void
sr_click_finder_del(SrClickFinder* const finder)
{
  if (finder) {
    sr_transients_del(finder->transients);
    free(finder->sounds);
    free(finder->times);
    free(finder);
  }
}

SrStatus
sr_click_finder_push(SrClickFinder* const finder, const float* const samples, const size_t count)
{
  return sr_transients_push(finder->transients, samples, count) ? SR_OK : SR_NO_MEMORY;
}

/// Add the sound `offset` after each click, starting `lead` before it, at the rate of the
/// recording.
static void
add_sound(const Search* const s, const Grid* const grid, const double offset, const double lead,
          const double step, float* const sound, const size_t count)
{
  for (size_t k = s->first_there; k <= s->last_there; ++k) {
    const double from = grid->first + (double)k * grid->period + offset - lead;
    for (size_t i = 0; i < count; ++i) {
      const double at = from + (double)i * step;
      const double whole = floor(at);
      const float part = (float)(at - whole);
      sound[i] += (1.0f - part) * sample_at(s, (long)whole) + part * sample_at(s, (long)whole + 1);
    }
  }
}

/// Fill the result; the sounds are missing if out of memory.
static void
tell(SrClickFinder* const finder, const Search* const s, const Grid* const grid,
     SrClickFound* const found)
{
  const double scale = finder->rate_hz / s->rate_hz;
  const unsigned parts = parts_of(s, grid);
  const double early = find_onset(s, grid);
  const double lead = early + CLICK_FINDER_LEAD_S * s->rate_hz;
  const size_t count = (size_t)(SOUND_S * finder->rate_hz);
  found->period = scale * grid->period / (double)parts;
  found->bar_clicks = parts > 1 ? parts : 0;
  finder->times = (double*)calloc(s->found_count + 1, sizeof(double));
  for (size_t k = 0; k < s->found_count; ++k) {
    if (s->found[k].there) {
      const double here = scale * (grid->first + (double)k * grid->period - early);
      found->first = found->count ? found->first : here;
      found->count += parts;
      if (finder->times) {
        finder->times[found->time_count++] = here;
      }
    }
  }
  assert(count > 0);
  finder->sounds = (float*)calloc(2 * count, sizeof(float));
  if (finder->sounds) {
    add_sound(s, grid, 0.0, lead, 1.0 / scale, finder->sounds + count, count);
    for (unsigned i = 1; i < parts; ++i) {
      add_sound(s, grid, grid->period * (double)i / (double)parts, lead, 1.0 / scale,
                finder->sounds, count);
    }
    if (parts == 1) {
      memcpy(finder->sounds, finder->sounds + count, count * sizeof(float));
    }
    for (size_t i = 0; i < 2 * count; ++i) {
      const double end = 1.0 - (double)(i % count) / (double)count;
      finder->sounds[i] *= (float)fmin(1.0, end / FADED);
    }
    found->plain = finder->sounds;
    found->accent = finder->sounds + count;
    found->sound_count = count;
    found->lead = CLICK_FINDER_LEAD_S * finder->rate_hz;
    found->times = finder->times;
  }
}

SrStatus
sr_click_finder_finish(SrClickFinder* const finder, SrClickFound* const found)
{
  *found = (SrClickFound){.count = 0, .period = (double)NAN, .first = (double)NAN};
  if (!sr_transients_finish(finder->transients)) {
    return SR_NO_MEMORY;
  }
  Search s = {.rate_hz = sr_transients_rate_hz(finder->transients),
              .transients = finder->transients};
  s.y = sr_transients_samples(finder->transients, &s.count);
  s.before = (size_t)(CLICK_FINDER_BEFORE_S * s.rate_hz);
  s.shifts = 2 * (size_t)(SEARCH_S * s.rate_hz) + 3;
  const size_t longest = sr_vector_padded(s.before + (size_t)(behind_s[1] * s.rate_hz));
  s.shape = sr_vector_new(longest);
  s.others = sr_vector_new(longest);
  s.around = sr_vector_new(longest + s.shifts);
  s.like = sr_vector_new(s.shifts);
  bool enough = s.shape && s.others && s.around && s.like;
  const size_t block = (size_t)(BLOCK_S * s.rate_hz);
  bool is = false;
  Grid grid = {0};
  for (size_t start = 0; enough && !is && start < s.count; start += block) {
    size_t count = s.count - start < 2 * block ? s.count - start : block;
    is = search_block(&s, start, count, &grid, &enough);
    if (count > block) {
      break;
    }
  }
  if (is) {
    tell(finder, &s, &grid, found);
    enough = finder->sounds && finder->times;
  }
  free(s.shape);
  free(s.others);
  free(s.around);
  free(s.like);
  free(s.found);
  return enough ? SR_OK : SR_NO_MEMORY;
}
