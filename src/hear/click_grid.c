// SPDX-License-Identifier: GPL-3.0-or-later

#include "click_grid.h"

#include "recurrence.h"
#include "simd.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Part after it, s: short and long clicks.
static const double behind_s[] = {0.008, SR_CLICK_BEHIND_S};

// Whether a click may be there is first asked with energies that are rounded

/// This share of LEAST_LIKE is below it in spite of the rounding.
#define ROUGHLY 0.999f
/// Energies over this are rounded by less than that.
#define LEAST_ROUGH 1e-3f

float
sr_click_sample(const SrClickSearch* const s, const long i)
{
  return i < 0 || (size_t)i >= s->count ? 0.0f : s->y[i];
}

/// The samples from `from` on: in the recording, or copied to `copy` with zeros outside of it.
static const float*
samples_from(const SrClickSearch* const s, const long from, const size_t count, float* const copy)
{
  if (from >= 0 && (size_t)from + count <= s->count) {
    return s->y + from;
  }
  for (size_t i = 0; i < count; ++i) {
    copy[i] = sr_click_sample(s, from + (long)i);
  }
  return copy;
}

/// Energies of the sounds of SR_CLICKS_TOGETHER clicks: the sums need not wait for each other.
static void
energies(const float* const sounds[SR_CLICKS_TOGETHER], const size_t length,
         float out[SR_CLICKS_TOGETHER])
{
  float sums[SR_CLICKS_TOGETHER];
  for (size_t c = 0; c < SR_CLICKS_TOGETHER; ++c) {
    sums[c] = 1e-9f;
  }
  for (size_t i = 0; i < length; ++i) {
    for (size_t c = 0; c < SR_CLICKS_TOGETHER; ++c) {
      sums[c] += sounds[c][i] * sounds[c][i];
    }
  }
  memcpy(out, sums, sizeof(sums));
}

/// Add sounds with their weights, one after the other.
SR_HOT static void
add_sounds(float* const shape, const size_t length, const float* const sounds[SR_CLICKS_TOGETHER],
           const float shares[SR_CLICKS_TOGETHER])
{
  for (size_t i = 0; i < length; ++i) {
    float sum = shape[i];
    for (size_t c = 0; c < SR_CLICKS_TOGETHER; ++c) {
      sum += shares[c] * sounds[c][i];
    }
    shape[i] = sum;
  }
}

/// Sum the sounds of the clicks present.
static void
average(const SrClickSearch* const s)
{
  memset(s->shape, 0, s->length * sizeof(float));
  for (size_t k = 0; k < s->found_count;) {
    SrFoundClick* clicks[SR_CLICKS_TOGETHER];
    const float* sounds[SR_CLICKS_TOGETHER];
    size_t count = 0;
    for (; k < s->found_count && count < SR_CLICKS_TOGETHER; ++k) {
      SrFoundClick* const click = &s->found[k];
      click->share = 0.0f;
      if (click->there) {
        click->start = lround(click->at) - (long)s->before;
        sounds[count] = samples_from(s, click->start, s->length, s->copies[count]);
        clicks[count++] = click;
      }
    }
    for (size_t c = count; c < SR_CLICKS_TOGETHER; ++c) {
      sounds[c] = s->zeros;
    }
    float shares[SR_CLICKS_TOGETHER];
    energies(sounds, s->length, shares);
    for (size_t c = 0; c < SR_CLICKS_TOGETHER; ++c) {
      // All clicks have the same weight
      shares[c] = 1.0f / sqrtf(shares[c]);
    }
    for (size_t c = 0; c < count; ++c) {
      clicks[c]->share = shares[c];
    }
    add_sounds(s->shape, s->length, sounds, shares);
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

/// product() of the samples from four places on.
SR_PART void
four_products(const float* const samples, const float* const vectors, const size_t padded,
              float* const out)
{
  const SrVector* const whole = (const SrVector*)(const void*)vectors;
  SrVector sums[4] = {{0}, {0}, {0}, {0}};
  for (size_t i = 0; i < padded / SR_VECTOR_SIZE; ++i) {
    for (size_t shift = 0; shift < 4; ++shift) {
      SrVector v;
      memcpy(&v, samples + i * SR_VECTOR_SIZE + shift, sizeof(v));
      sums[shift] += v * whole[i];
    }
  }
  for (size_t shift = 0; shift < 4; ++shift) {
    out[shift] = sr_vector_sum(&sums[shift]);
  }
}

/// Correlate samples, from each of the first `count` on, with vectors.
SR_HOT static void
correlate_shifts(const float* const samples, const float* const vectors, const size_t padded,
                 float* const out, const size_t count)
{
  size_t i = 0;
  for (; i + 4 <= count; i += 4) {
    four_products(samples + i, vectors, padded, out + i);
  }
  for (; i < count; ++i) {
    out[i] = product(samples + i, vectors, padded);
  }
}

/// The other clicks' sounds: `shape` without `share` times the own one; receives vectors. Returns
/// about their energy.
SR_HOT static float
without(const float* const shape, const float share, const float* const own, const size_t length,
        float* const others)
{
  for (size_t i = 0; i < length; ++i) {
    others[i] = shape[i] - share * own[i];
  }
  const size_t padded = sr_vector_padded(length);
  memset(others + length, 0, (padded - length) * sizeof(float));
  const SrVector* const vectors = (const SrVector*)(const void*)others;
  SrVector sum = {0};
  for (size_t i = 0; i < padded / SR_VECTOR_SIZE; ++i) {
    sum += vectors[i] * vectors[i];
  }
  return sr_vector_sum(&sum);
}

/// About the energy of samples, of whole vectors.
SR_HOT static float
rough_energy(const float* const samples, const size_t padded)
{
  SrVector sum = {0};
  for (size_t i = 0; i < padded; i += SR_VECTOR_SIZE) {
    SrVector v;
    memcpy(&v, samples + i, sizeof(v));
    sum += v * v;
  }
  return sr_vector_sum(&sum);
}

/// The shifts at which a click would be in time: from `first` to before `end`.
static void
in_time(const SrClickSearch* const s, size_t* const first, size_t* const end)
{
  // Half a sample each for the rounding of its expected time and for the bend of the peak
  const size_t reach = (size_t)(IN_TIME_S * s->rate_hz) + 2;
  const size_t middle = s->shifts / 2;
  *first = middle > reach ? middle - reach : 0;
  *end = middle + reach + 1 < s->shifts ? middle + reach + 1 : s->shifts;
}

/// Whether there may be a click in time, from the correlations at those shifts: false only if no
/// correlation there can exceed LEAST_LIKE.
static bool
may_be_there(const SrClickSearch* const s, const float* const around, const size_t first,
             const size_t end, const float others)
{
  float most = s->like[first];
  for (size_t i = first + 1; i < end; ++i) {
    most = s->like[i] > most ? s->like[i] : most;
  }
  // The part that the click's sound has at each of the shifts
  const size_t shared = (s->length - (end - first)) / SR_VECTOR_SIZE * SR_VECTOR_SIZE;
  const float own = rough_energy(around + end, shared);
  return !(own > LEAST_ROUGH && most < ROUGHLY * (float)LEAST_LIKE * sqrtf(own * others));
}

/// Correlation of the recording from `from` on with the mean of the other clicks, for each shift.
/// False if it was not finished, since no click is there in time; if `asked`, it is finished.
static bool
like_others(const SrClickSearch* const s, const SrFoundClick* const click, const long from,
            const bool asked)
{
  const size_t padded = sr_vector_padded(s->length);
  const float* const around = samples_from(s, from, padded + s->shifts, s->around);
  const float* const mine = samples_from(s, click->start, s->length, s->copies[0]);
  const float rough = without(s->shape, click->share, mine, s->length, s->others);
  size_t first;
  size_t end;
  in_time(s, &first, &end);
  correlate_shifts(around + first, s->others, padded, s->like + first, end - first);
  if (!asked && !may_be_there(s, around, first, end, rough)) {
    return false;
  }
  correlate_shifts(around, s->others, padded, s->like, first);
  correlate_shifts(around + end, s->others, padded, s->like + end, s->shifts - end);
  double others = 1e-12;
  double own = 1e-12;
  for (size_t i = 0; i < s->length; ++i) {
    others += (double)(s->others[i] * s->others[i]);
    own += (double)(around[i] * around[i]);
  }
  for (size_t i = 0; i < s->shifts; ++i) {
    s->like[i] = (float)((double)s->like[i] / sqrt((own > 1e-12 ? own : 1e-12) * others));
    own +=
        (double)(around[i + s->length] * around[i + s->length]) - (double)(around[i] * around[i]);
  }
  return true;
}

/// Search for the clicks `first` to before `end` near their times. If not all are asked for, those
/// that are not there may be left where they were, and false is returned as soon as they are too
/// few.
static bool
look(const SrClickSearch* const s, const SrClickGrid* const grid, const size_t first,
     const size_t end, const bool all)
{
  size_t there = 0;
  for (size_t k = first; k < end; ++k) {
    if (!all && there + (end - k) < LEAST_CLICKS) {
      return false;
    }
    SrFoundClick* const click = &s->found[k];
    const double due = grid->first + (double)k * grid->period;
    const long start = lround(due) - (long)(s->shifts / 2);
    if (!like_others(s, click, start - (long)s->before, all)) {
      click->there = false;
      continue;
    }
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
    there += click->there ? 1 : 0;
  }
  return true;
}

/// Fit a line through the clicks present; false if they are too few.
static bool
fit(const SrClickSearch* const s, SrClickGrid* const grid)
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

/// Sums of the squares of some samples, of those of others, and of their products.
SR_HOT static void
sum_products(const float* const one, const float* const two, const size_t count, double sums[3])
{
  SrVector aa = {0};
  SrVector bb = {0};
  SrVector ab = {0};
  size_t i = 0;
  for (; i + SR_VECTOR_SIZE <= count; i += SR_VECTOR_SIZE) {
    SrVector a;
    SrVector b;
    memcpy(&a, one + i, sizeof(a));
    memcpy(&b, two + i, sizeof(b));
    aa += a * a;
    bb += b * b;
    ab += a * b;
  }
  sums[0] = (double)sr_vector_sum(&aa);
  sums[1] = (double)sr_vector_sum(&bb);
  sums[2] = (double)sr_vector_sum(&ab);
  for (; i < count; ++i) {
    sums[0] += (double)(one[i] * one[i]);
    sums[1] += (double)(two[i] * two[i]);
    sums[2] += (double)(one[i] * two[i]);
  }
}

double
sr_click_alike(const SrClickSearch* const s, const SrFoundClick* const a,
               const SrFoundClick* const b)
{
  const long one = lround(a->at) - (long)s->before;
  const long two = lround(b->at) - (long)s->before;
  // A click cut off by the start or the end of the recording is like no other
  if (one < 0 || two < 0 || (size_t)one + s->length > s->count ||
      (size_t)two + s->length > s->count) {
    return 0.0;
  }
  double sums[3];
  sum_products(s->y + one, s->y + two, s->length, sums);
  return sums[2] / sqrt((sums[0] + 1e-12) * (sums[1] + 1e-12));
}

/// Mean correlation of pairs of clicks that cannot have a note in common, since different notes
/// start or sound there, or none starts; from the first click present to the last. `pairs` receives
/// their number.
static double
alike_elsewhere(const SrClickSearch* const s, size_t* const pairs)
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
        sum += sr_click_alike(s, &s->found[i], &s->found[j]);
        ++count;
      }
    }
  }
  *pairs = count;
  return count ? sum / (double)count : 0.0;
}

/// Whether there are clicks of one length on a grid, which is refined.
static bool
try_length(SrClickSearch* const s, const size_t block_start, const size_t block_count,
           const double phase, const double length_s, SrClickGrid* const grid)
{
  s->length = s->before + (size_t)(length_s * s->rate_hz);
  // From the first one possible in the recording
  const double first = (double)block_start + phase;
  grid->first = first - floor(first / grid->period) * grid->period;
  s->found_count = (size_t)(((double)s->count - grid->first) / grid->period);
  SrFoundClick* const more =
      (SrFoundClick*)realloc(s->found, (s->found_count + 1) * sizeof(SrFoundClick));
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
    s->found[k] = (SrFoundClick){.at = at, .there = in_block};
    first_in = in_block && k < first_in ? k : first_in;
    end_in = in_block ? k + 1 : end_in;
  }
  // In the block first: most periodic sounds there are not clicks
  bool is = true;
  for (int turn = 0; is && turn < 3; ++turn) {
    average(s);
    is = look(s, grid, turn ? 0 : first_in, turn ? s->found_count : end_in, turn == 2) &&
         fit(s, grid);
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

bool
sr_click_try_period(SrClickSearch* const s, const size_t block_start, const size_t block_count,
                    SrClickGrid* const grid)
{
  const SrClickGrid asked = *grid;
  double phases[CLICK_FINDER_PHASES];
  const size_t count =
      sr_recurrence_phases(s->y + block_start, block_count, grid->period, s->rate_hz, phases);
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
