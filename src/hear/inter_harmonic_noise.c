// SPDX-License-Identifier: GPL-3.0-or-later

#include "inter_harmonic_noise.h"

#include "larger.h"
#include "real_transform.h"
#include "simd.h"
#include "transform_size.h"
#include "tuning.h"
#include "windowed.h"

#include <math.h>

struct SrInterHarmonicImpl {
  size_t size;
  double wider; ///< Width of all peaks relative to the long window
  double rate_hz;
  double bin_hz;
  size_t bins; ///< Up to the upper edge of the last band
  float* window;
  fftwf_complex* output; ///< The first `bins` of the spectrum, after transform_back() all of them
  SrRealTransform* transform;
  float* power; ///< Of each bin: a sine of amplitude A peaks at A^2
  float* free;  ///< 1 for a bin that no harmonic reaches, 0 otherwise
  float* spare; ///< `free` before one more pitch
  float* rest;
  float noise[SR_BANDS]; ///< Of the window measured, per bin; negative if unknown
};

const double SR_BAND_EDGES_HZ[SR_BANDS + 1] = {
    0.0,    100.0,  200.0,  300.0,  400.0,  510.0,   630.0,  770.0,  920.0,
    1080.0, 1270.0, 1480.0, 1720.0, 2000.0, 2320.0,  2700.0, 3150.0, 3700.0,
    4400.0, 5300.0, 6400.0, 7700.0, 9500.0, 12000.0, 15500.0};

void
sr_inter_harmonic_del(SrInterHarmonic* const b)
{
  if (b) {
    sr_real_transform_del(b->transform);
    fftwf_free(b->output);
    free(b->window);
    free(b->power);
    free(b->free);
    free(b->spare);
    free(b->rest);
    free(b);
  }
}

/// The nearest size with a fast transform: twice as fast as the nearest size without the factor 64.
static size_t
window_size(const double samples)
{
  const size_t wanted = (size_t)fmax(1.0, round(samples / 64.0));
  size_t apart = 0;
  while (!sr_has_small_factors(wanted + apart, 7)) {
    ++apart;
    if (apart < wanted && sr_has_small_factors(wanted - apart, 7)) {
      return 64 * (wanted - apart);
    }
  }
  return 64 * (wanted + apart);
}

SrInterHarmonic*
sr_inter_harmonic_new(const double rate_hz, const double window_s)
{
  SrInterHarmonic* const b = (SrInterHarmonic*)calloc(1, sizeof(SrInterHarmonic));
  if (!b) {
    return NULL;
  }
  b->rate_hz = rate_hz;
  b->size = window_size(window_s * rate_hz);
  b->wider = SR_INTER_HARMONIC_WINDOW_S / window_s;
  b->bin_hz = rate_hz / (double)b->size;
  const double top_hz = fmin(SR_BAND_EDGES_HZ[SR_BANDS], 0.46 * rate_hz);
  b->bins = (size_t)(top_hz / b->bin_hz);
  b->window = sr_vector_new(b->size);
  b->power = sr_vector_new(b->bins);
  b->free = sr_vector_new(b->bins);
  b->spare = sr_vector_new(b->bins);
  b->rest = sr_vector_new(b->size);
  b->output = fftwf_alloc_complex(b->size / 2 + 1);
  b->transform = sr_real_transform_new(b->size);
  if (!b->window || !b->power || !b->free || !b->spare || !b->rest || !b->output || !b->transform) {
    sr_inter_harmonic_del(b);
    return NULL;
  }
  for (size_t n = 0; n < b->size; ++n) {
    b->window[n] = (float)sr_hann(n, b->size);
  }
  return b;
}

size_t
sr_inter_harmonic_size(const SrInterHarmonic* const b)
{
  return b->size;
}

const float*
sr_inter_harmonic_window(const SrInterHarmonic* const b)
{
  return b->window;
}

SR_HOT static void
take_powers(fftwf_complex* const bins, const float scale, const size_t count, float* const powers)
{
  for (size_t i = 0; i < count; ++i) {
    powers[i] = scale * (bins[i][0] * bins[i][0] + bins[i][1] * bins[i][1]);
  }
}

static void
transform(SrInterHarmonic* const b, const float* const samples)
{
  sr_windowed(samples, b->window, b->size, sr_real_transform_samples(b->transform));
  sr_real_transform_do(b->transform, 0, b->bins, b->output);
  take_powers(b->output, 16.0f / ((float)b->size * (float)b->size), b->bins, b->power);
}

/// The strongest bin within a reach of a frequency; 0 if out of range.
static size_t
strongest(const SrInterHarmonic* const b, const double hz, const double reach_hz)
{
  const long from = lround((hz - reach_hz) / b->bin_hz);
  const long to = lround((hz + reach_hz) / b->bin_hz);
  size_t best = 0;
  for (long i = from < 2 ? 2 : from; i <= to && i + 1 < (long)b->bins; ++i) {
    best = best == 0 || b->power[i] > b->power[best] ? (size_t)i : best;
  }
  return best;
}

/// A fundamental from the peaks of its first harmonics, each interpolated between bins (parabola
/// through the logarithms, as for Gaussian peaks; Gasior and Gonzalez 2004).
static double
measure_pitch(const SrInterHarmonic* const b, const double nominal_hz)
{
  double sum = 0.0;
  double weights = 0.0;
  for (size_t k = 1; k <= INTER_HARMONIC_NOISE_MEASURED; ++k) {
    const double hz = nominal_hz * (double)k;
    const size_t bin = strongest(b, hz, b->bin_hz + 0.02 * hz);
    if (bin < 2 || !(b->power[bin] > b->power[bin - 1]) || !(b->power[bin] >= b->power[bin + 1])) {
      continue;
    }
    const double low = log((double)b->power[bin - 1] + 1e-20);
    const double middle = log((double)b->power[bin] + 1e-20);
    const double high = log((double)b->power[bin + 1] + 1e-20);
    const double bend = low - 2.0 * middle + high;
    const double at = (double)bin + (bend < 0.0 ? 0.5 * (low - high) / bend : 0.0);
    // A peak is located to a fraction of a bin: the higher the harmonic, the more accurate the
    // pitch
    const double weight = sqrt((double)b->power[bin]) * (double)k;
    sum += weight * at * b->bin_hz / (double)k;
    weights += weight;
  }
  const double measured = weights > 0.0 ? sum / weights : nominal_hz;
  return fabs(1200.0 * log2(measured / nominal_hz)) < 60.0 ? measured : nominal_hz;
}

/// Mark the bins that the harmonics of a pitch reach.
static void
take_bins(SrInterHarmonic* const b, const double hz, const double guard_hz,
          const double low_guard_hz, const double top_hz)
{
  const size_t most = hz > 0.0 ? (size_t)((top_hz + guard_hz) / hz) : 0;
  for (size_t k = 1; k <= most; ++k) {
    const double at = hz * (double)k;
    const double high_hz = fmin(HIGH_SHARE * hz, b->wider * HIGH_GUARD_HZ);
    const double guard = at < INTER_HARMONIC_NOISE_LOW_HZ    ? low_guard_hz
                         : at < INTER_HARMONIC_NOISE_HIGH_HZ ? guard_hz
                                                             : fmin(guard_hz, high_hz);
    const double reach = guard + STRAY * at;
    const long from = (long)ceil((at - reach) / b->bin_hz);
    const long to = (long)floor((at + reach) / b->bin_hz);
    const long first = from < 0 ? 0 : from;
    const long behind = to < (long)b->bins ? to + 1 : (long)b->bins;
    if (first < behind) {
      memset(b->free + first, 0, (size_t)(behind - first) * sizeof(float));
    }
  }
}

SR_HOT static float
total_of(const float* const values, const size_t padded)
{
  return sr_vector_total(values, padded);
}

static float
free_count(const SrInterHarmonic* const b)
{
  // Padding is never free
  return total_of(b->free, sr_vector_padded(b->bins));
}

/// Mark the bins of a dying pitch, unless too few would remain free: the rest of it is then left
/// out peak by peak, as tones.
static void
take_tail(SrInterHarmonic* const b, const double hz)
{
  memcpy(b->spare, b->free, b->bins * sizeof(float));
  const double guard_hz = fmin(GUARD_SHARE * hz, b->wider * REACH_HZ);
  const double low_guard_hz = b->wider * GUARD_HZ;
  take_bins(b, hz, guard_hz, low_guard_hz, (double)b->bins * b->bin_hz);
  if (free_count(b) < LEAST_AFTER_TAIL * (float)b->bins) {
    memcpy(b->free, b->spare, b->bins * sizeof(float));
    take_bins(b, hz, guard_hz, low_guard_hz, INTER_HARMONIC_NOISE_LOW_HZ);
  }
}

/// Sum of the free bins under a limit, with their number and maximum.
SR_HOT static float
sum_under(const float* const power, const float* const free_bins, const size_t count,
          const float limit, float* const bins, float* const most)
{
  // Parallel sums that the compiler can keep in SIMD vectors
  float sums[SR_VECTOR_SIZE] = {0};
  float weights[SR_VECTOR_SIZE] = {0};
  float tops[SR_VECTOR_SIZE] = {0};
  size_t i = 0;
  for (; i + SR_VECTOR_SIZE <= count; i += SR_VECTOR_SIZE) {
    for (size_t k = 0; k < SR_VECTOR_SIZE; ++k) {
      const float use = power[i + k] < limit ? free_bins[i + k] : 0.0f;
      const float used = use * power[i + k];
      sums[k] += used;
      weights[k] += use;
      tops[k] = used > tops[k] ? used : tops[k];
    }
  }
  float sum = 0.0f;
  float weight = 0.0f;
  float top = 0.0f;
  for (; i < count; ++i) {
    const float use = power[i] < limit ? free_bins[i] : 0.0f;
    const float used = use * power[i];
    sum += used;
    weight += use;
    top = used > top ? used : top;
  }
  for (size_t k = 0; k < SR_VECTOR_SIZE; ++k) {
    sum += sums[k];
    weight += weights[k];
    top = tops[k] > top ? tops[k] : top;
  }
  *bins = weight;
  *most = top;
  return sum;
}

/// Of the bins that are not free: number, power, and power weighted by bin.
typedef struct {
  float count;
  float power;
  float place;
} Taken;

SR_HOT static Taken
sum_taken(const float* const power, const float* const free_bins, const size_t count)
{
  float counts[SR_VECTOR_SIZE] = {0};
  float powers[SR_VECTOR_SIZE] = {0};
  float places[SR_VECTOR_SIZE] = {0};
  size_t i = 0;
  for (; i + SR_VECTOR_SIZE <= count; i += SR_VECTOR_SIZE) {
    for (size_t k = 0; k < SR_VECTOR_SIZE; ++k) {
      const float taken = 1.0f - free_bins[i + k];
      counts[k] += taken;
      powers[k] += taken * power[i + k];
      places[k] += taken * power[i + k] * (float)(int)(i + k);
    }
  }
  Taken sum = {0};
  for (; i < count; ++i) {
    const float taken = 1.0f - free_bins[i];
    sum.count += taken;
    sum.power += taken * power[i];
    sum.place += taken * power[i] * (float)(int)i;
  }
  for (size_t k = 0; k < SR_VECTOR_SIZE; ++k) {
    sum.count += counts[k];
    sum.power += powers[k];
    sum.place += places[k];
  }
  return sum;
}

/// Noise per bin in a band, from its free bins; negative if there are too few.
static float
noise_of(const SrInterHarmonic* const b, const size_t from, const size_t to, float* const mean)
{
  float bins = 0.0f;
  const float* const power = b->power + from;
  const float* const free_bins = b->free + from;
  float most = 0.0f;
  const float sum = sum_under(power, free_bins, to - from, INFINITY, &bins, &most);
  if (bins < (float)LEAST_BINS) {
    *mean = -1.0f;
    return -1.0f;
  }
  *mean = sum / bins;
  float noise = *mean;
  // Once nothing exceeds the limit, a further pass changes nothing
  for (int i = 0; i < 2 && most >= CLIP * noise; ++i) {
    const float under = sum_under(power, free_bins, to - from, CLIP * noise, &bins, &most);
    noise = bins > 0.0f ? under / bins : noise;
  }
  return noise;
}

/// Interpolate bands that could not be measured, per bin.
static void
fill_in(float* const noise)
{
  for (size_t band = 0; band < SR_BANDS; ++band) {
    if (noise[band] >= 0.0f) {
      continue;
    }
    size_t below = band;
    while (below > 0 && noise[below] < 0.0f) {
      --below;
    }
    size_t above = band;
    while (above + 1 < SR_BANDS && noise[above] < 0.0f) {
      ++above;
    }
    const bool has_below = noise[below] >= 0.0f;
    const bool has_above = noise[above] >= 0.0f;
    if (has_below && has_above) {
      noise[band] = sqrtf(noise[below] * noise[above]);
    } else {
      noise[band] = has_below ? noise[below] : has_above ? noise[above] : 0.0f;
    }
  }
}

bool
sr_inter_harmonic_measure(SrInterHarmonic* const b, const float* const samples,
                          const SrProfile* const profile,
                          const SrInterHarmonicPitches* const pitches,
                          SrInterHarmonicMeasure* const measure)
{
  transform(b, samples);
  for (size_t i = 0; i < b->bins; ++i) {
    b->free[i] = 1.0f;
  }
  memset(measure, 0, sizeof(*measure));
  measure->frequency_hz = (double)NAN;
  for (size_t i = 0; i < pitches->count; ++i) {
    const double nominal = sr_profile_frequency_hz(profile, pitches->pitch[i]);
    if (i < pitches->main_count) {
      const double hz = measure_pitch(b, nominal);
      measure->frequency_hz = hz < measure->frequency_hz || i == 0 ? hz : measure->frequency_hz;
      const double guard_hz = fmin(GUARD_SHARE * hz, b->wider * GUARD_HZ);
      take_bins(b, hz, guard_hz, guard_hz, (double)b->bins * b->bin_hz);
    } else {
      take_tail(b, nominal);
    }
  }
  // Three bins of the Hann window hold 1.5 times a sine's power; noise has its own power in each
  const float share = 1.0f / 3.0f;
  float free_bins = 0.0f;
  float bins = 0.0f;
  float mean_sum = 0.0f;
  float noise_sum = 0.0f;
  for (size_t band = 0; band < SR_BANDS; ++band) {
    const size_t from = (size_t)ceil(SR_BAND_EDGES_HZ[band] / b->bin_hz);
    size_t to = (size_t)ceil(SR_BAND_EDGES_HZ[band + 1] / b->bin_hz);
    to = to < b->bins ? to : b->bins;
    measure->noise[band] = -1.0f;
    if (from + 4 > to) {
      continue;
    }
    float mean = 0.0f;
    measure->noise[band] = noise_of(b, from, to, &mean);
    if (SR_BAND_EDGES_HZ[band] >= 500.0 && SR_BAND_EDGES_HZ[band] < 3000.0 && mean >= 0.0f) {
      mean_sum += mean;
      noise_sum += measure->noise[band];
      measure->other_power += (double)(share * (mean - measure->noise[band]) * (float)(to - from));
    }
    const float noise = sr_larger(measure->noise[band], 0.0f);
    const Taken taken = sum_taken(b->power + from, b->free + from, to - from);
    // Subtract the noise under the harmonics, with a margin for its fluctuation
    const float tone =
        sr_larger(taken.power - noise * (taken.count + 2.0f * sqrtf(taken.count)), 0.0f);
    const float place = taken.power > 0.0f ? (float)from + taken.place / taken.power : 0.0f;
    free_bins += (float)(to - from) - taken.count;
    bins += (float)(to - from);
    measure->tone[band] = tone * share;
    measure->place[band] = tone > 0.0f ? place * (float)b->bin_hz : 0.0f;
    measure->power += (double)(tone * share);
  }
  fill_in(measure->noise);
  memcpy(b->noise, measure->noise, sizeof(b->noise));
  for (size_t band = 0; band < SR_BANDS; ++band) {
    const double width_hz =
        fmax(0.0, fmin(SR_BAND_EDGES_HZ[band + 1], 0.46 * b->rate_hz) - SR_BAND_EDGES_HZ[band]);
    measure->noise[band] *= share * (float)(width_hz / b->bin_hz);
  }
  measure->free_share = bins > 0.0f ? (double)(free_bins / bins) : 0.0;
  measure->peak_ratio = noise_sum > 0.0f ? (double)(mean_sum / noise_sum) : 1.0;
  return measure->free_share >= LEAST_FREE;
}

/// Inverse transform of the bins from `low` to before `high` by the Hartley transform, real minus
/// imaginary part, which is its own inverse up to a factor of the size (Bracewell 1983, from
/// memory), so one plan serves both directions.
static void
transform_back(SrInterHarmonic* const b, const size_t low, const size_t high)
{
  float* const input = sr_real_transform_samples(b->transform);
  memset(input, 0, b->size * sizeof(float));
  const fftwf_complex* const bins = (const fftwf_complex*)b->output;
  for (size_t i = low; i < high; ++i) {
    input[i] = bins[i][0] - bins[i][1];
    input[b->size - i] = bins[i][0] + bins[i][1];
  }
  sr_real_transform_do(b->transform, 0, b->size / 2 + 1, b->output);
  b->rest[0] = bins[0][0];
  for (size_t i = 1; 2 * i <= b->size; ++i) {
    b->rest[i] = bins[i][0] - bins[i][1];
    b->rest[b->size - i] = bins[i][0] + bins[i][1];
  }
}

const float*
sr_inter_harmonic_rest(SrInterHarmonic* const b)
{
  const size_t low = (size_t)(REST_LOW_HZ / b->bin_hz);
  const size_t high = (size_t)fmin(REST_HIGH_HZ / b->bin_hz, (double)b->bins);
  size_t band = 0;
  for (size_t i = low; i < high; ++i) {
    while (band + 1 < SR_BANDS && (double)i * b->bin_hz >= SR_BAND_EDGES_HZ[band + 1]) {
      ++band;
    }
    // A harmonic that does not exceed the noise counts as noise: fewer gaps cause less echo in time
    const bool keep = b->free[i] > 0.0f || b->power[i] < CLIP * b->noise[band];
    const float scale = keep ? 1.0f / (float)b->size : 0.0f;
    b->output[i][0] *= scale;
    b->output[i][1] *= scale;
  }
  transform_back(b, low, high);
  return b->rest;
}
