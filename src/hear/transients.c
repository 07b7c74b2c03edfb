// SPDX-License-Identifier: GPL-3.0-or-later

#include "transients.h"

#include "larger.h"
#include "real_transform.h"
#include "simd.h"
#include "tuning.h"
#include "windowed.h"

#include <fftw3.h>

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define RING (2u * TRANSIENTS_REACH + 1u)

/// Their distances in frames: 40 to 90 ms.
static const size_t away[BESIDE] = {7, 10, 13, 16};

struct SrTransientsImpl {
  double rate_hz;
  size_t window;
  size_t hop;
  size_t out_window;
  size_t out_hop;
  size_t low; ///< Bins
  size_t bins;
  size_t most; ///< Most output samples
  float* shape;
  float* input; ///< The last `window` samples
  size_t filled;
  fftwf_complex* spectrum;
  float* magnitudes; ///< A ring of RING frames
  fftwf_complex* kept;
  size_t frames;  ///< Frames analysed
  size_t done;    ///< Frames output
  size_t beyond;  ///< Frames analysed when there was no more room for output; 0 while there is
  float* gains;   ///< Of one frame
  float* squares; ///< The same, of the magnitudes; zeros up to whole vectors
  float* out_shape;
  fftwf_complex* out_spectrum;
  SrRealTransform* forward;
  SrRealTransform* back;
  float* out;
  size_t out_count;
  float* plain; ///< Of every KEPT_EVERYth frame
  size_t plain_count;
  size_t plain_most;
};

void
sr_transients_del(SrTransients* const t)
{
  if (t) {
    sr_real_transform_del(t->forward);
    sr_real_transform_del(t->back);
    fftwf_free(t->spectrum);
    fftwf_free(t->out_spectrum);
    fftwf_free(t->kept);
    free(t->shape);
    free(t->out_shape);
    free(t->gains);
    free(t->squares);
    free(t->input);
    free(t->magnitudes);
    free(t->out);
    free(t->plain);
    free(t);
  }
}

SrTransients*
sr_transients_new(const double rate_hz, const double most_s)
{
  SrTransients* const t = (SrTransients*)calloc(1, sizeof(SrTransients));
  if (!t) {
    return NULL;
  }
  t->rate_hz = rate_hz;
  t->window = 64;
  while ((double)t->window < TRANSIENTS_WINDOW_S * rate_hz) {
    t->window *= 2;
  }
  t->hop = t->window / TRANSIENTS_OVERLAP;
  t->out_window = t->window;
  while (0.5 * sr_transients_rate_hz(t) >= LEAST_RATE_HZ) {
    t->out_window /= 2;
  }
  t->out_hop = t->out_window / TRANSIENTS_OVERLAP;
  const double bin_hz = rate_hz / (double)t->window;
  t->low = (size_t)ceil(TRANSIENTS_LOW_HZ / bin_hz);
  const double high_hz = fmin(TRANSIENTS_HIGH_HZ, 0.45 * sr_transients_rate_hz(t));
  t->bins = (size_t)(high_hz / bin_hz) - t->low;
  t->most = (size_t)(most_s * sr_transients_rate_hz(t));
  // Pages of these that are not written take no memory
  t->out = (float*)malloc((t->most + 1) * sizeof(float));
  t->plain_most = (t->most / t->out_hop + 2 * (size_t)RING) / KEPT_EVERY + 1;
  t->plain = (float*)malloc(t->plain_most * t->bins * sizeof(float));
  t->shape = (float*)malloc(t->window * sizeof(float));
  t->out_shape = (float*)malloc(t->out_window * sizeof(float));
  t->gains = (float*)calloc(t->bins, sizeof(float));
  t->squares = sr_vector_new(t->bins);
  t->input = (float*)calloc(t->window, sizeof(float));
  t->magnitudes = (float*)calloc(RING * t->bins, sizeof(float));
  t->spectrum = fftwf_alloc_complex(t->bins);
  t->kept = fftwf_alloc_complex(RING * t->bins);
  t->out_spectrum = fftwf_alloc_complex(t->out_window / 2 + 1);
  t->forward = sr_real_transform_new(t->window);
  t->back = sr_real_transform_new(t->out_window);
  if (!t->shape || !t->out_shape || !t->gains || !t->squares || !t->input || !t->spectrum ||
      !t->out_spectrum || !t->magnitudes || !t->kept || !t->forward || !t->back || !t->out ||
      !t->plain) {
    sr_transients_del(t);
    return NULL;
  }
  for (size_t i = 0; i < t->window; ++i) {
    t->shape[i] = (float)sr_hann(i, t->window);
  }
  for (size_t i = 0; i < t->out_window; ++i) {
    t->out_shape[i] = t->shape[i * (t->window / t->out_window)];
  }
  memset(t->out_spectrum, 0, (t->out_window / 2 + 1) * sizeof(fftwf_complex));
  // The first frame ends with the first hop, so that the first sample is in as many as any other
  t->filled = t->window - t->hop;
  return t;
}

double
sr_transients_rate_hz(const SrTransients* const t)
{
  return t->rate_hz * (double)t->out_window / (double)t->window;
}

const float*
sr_transients_samples(const SrTransients* const t, size_t* const count)
{
  // Frames begin this much before the first sample
  const size_t lead = t->out_window - t->out_hop;
  *count = t->out_count > lead ? t->out_count - lead : 0;
  return t->out + lead;
}

const float*
sr_transients_spectrum(const SrTransients* const t, const double at_s, size_t* const bins)
{
  const double frame = at_s * t->rate_hz / (double)t->hop + 0.5 * (double)TRANSIENTS_OVERLAP - 1.0;
  const long kept = lround(frame / (double)KEPT_EVERY);
  *bins = t->bins;
  return kept < 0 || (size_t)kept >= t->plain_count ? NULL : t->plain + (size_t)kept * t->bins;
}

/// Level of a bin on one side: the mean of the middle two of four.
SR_PART float
lasting(const float a, const float b, const float c, const float d)
{
  const float least = sr_smaller(sr_smaller(a, b), sr_smaller(c, d));
  const float most = sr_larger(sr_larger(a, b), sr_larger(c, d));
  return 0.5f * (a + b + c + d - least - most);
}

/// One row of magnitudes; frames before the first are zero.
static const float*
row(const SrTransients* const t, const size_t frame)
{
  return t->magnitudes + frame % RING * t->bins;
}

/// How far each bin stands out of what is there before and after it: gains, and the squares of the
/// magnitudes these give.
SR_HOT static void
stand_out(const float* const here, const float* const before[BESIDE],
          const float* const after[BESIDE], const size_t bins, const float floor_level,
          float* const restrict gains, float* const restrict squares)
{
  for (size_t b = 0; b < bins; ++b) {
    const float was = lasting(before[0][b], before[1][b], before[2][b], before[3][b]);
    const float is = lasting(after[0][b], after[1][b], after[2][b], after[3][b]);
    const float lasts = sr_larger(sr_larger(was, is), floor_level);
    squares[b] = sr_smaller(MOST, here[b] / lasts - STANDS_OUT);
    gains[b] = squares[b] / here[b];
  }
  // In a second loop, since a division on a condition is not vectorised
  for (size_t b = 0; b < bins; ++b) {
    const float over = squares[b];
    gains[b] = over > 0.0f ? gains[b] : 0.0f;
    squares[b] = over > 0.0f ? over * over : 0.0f;
  }
}

/// Sum of the squares in their order, and a little more. Most bins have none.
SR_HOT static float
energy_of(const float* const squares, const size_t bins)
{
  float energy = NO_ENERGY;
  for (size_t first = 0; first < bins; first += SR_VECTOR_SIZE) {
    const SrVector* const some = (const SrVector*)(const void*)(squares + first);
    if (sr_vector_sum(some) != 0.0f) {
      for (size_t b = first; b < first + SR_VECTOR_SIZE; ++b) {
        energy += squares[b];
      }
    }
  }
  return energy;
}

/// Weigh a spectrum.
SR_HOT static void
weigh(fftwf_complex* const from, const float* const gains, const float scale, const size_t bins,
      fftwf_complex* const to)
{
  for (size_t b = 0; b < bins; ++b) {
    to[b][0] = gains[b] * from[b][0] * scale;
    to[b][1] = gains[b] * from[b][1] * scale;
  }
}

/// Add a frame with its window.
SR_HOT static void
add_shaped(const float* const frame, const float* const shape, const size_t count, float* const out)
{
  for (size_t i = 0; i < count; ++i) {
    out[i] += shape[i] * frame[i];
  }
}

/// Copy a spectrum, and its magnitudes.
SR_HOT static void
take_spectrum(fftwf_complex* const from, const size_t bins, fftwf_complex* const to,
              float* const magnitudes)
{
  for (size_t b = 0; b < bins; ++b) {
    const float re = from[b][0];
    const float im = from[b][1];
    magnitudes[b] = sqrtf(re * re + im * im);
    to[b][0] = re;
    to[b][1] = im;
  }
}

/// Copy samples; those that are not finite are zero.
SR_HOT static void
take_finite(const float* const samples, const size_t count, float* const to)
{
  for (size_t i = 0; i < count; ++i) {
    to[i] = fabsf(samples[i]) <= FLT_MAX ? samples[i] : 0.0f;
  }
}

/// Output one frame, for which TRANSIENTS_REACH later ones are known.
static void
bring_out(SrTransients* const t)
{
  const size_t f = t->done++;
  const size_t start = f * t->out_hop;
  const size_t end = start + t->out_window;
  if (end > t->most) {
    t->beyond = t->beyond ? t->beyond : t->frames;
    return;
  }
  const float floor_level = FLOOR * 0.25f * (float)t->window;
  const float* const here = row(t, f);
  fftwf_complex* const full = t->kept + f % RING * t->bins;
  const float* before[BESIDE];
  const float* after[BESIDE];
  for (size_t k = 0; k < BESIDE; ++k) {
    before[k] = row(t, f + RING - away[k]);
    after[k] = row(t, f + away[k]);
  }
  stand_out(here, before, after, t->bins, floor_level, t->gains, t->squares);
  // No frame counts for more than another, however loud
  const float scale = 1.0f / sqrtf(energy_of(t->squares, t->bins));
  weigh(full, t->gains, scale, t->bins, t->out_spectrum + t->low);
  sr_real_transform_back(t->back, t->out_spectrum);
  float* const out = t->out;
  memset(out + t->out_count, 0, (end - t->out_count) * sizeof(float));
  add_shaped(sr_real_transform_samples(t->back), t->out_shape, t->out_window, out + start);
  t->out_count = end;
}

static void
take_frame(SrTransients* const t)
{
  float* const frame = sr_real_transform_samples(t->forward);
  sr_windowed(t->input, t->shape, t->window, frame);
  sr_real_transform_do(t->forward, t->low, t->bins, t->spectrum);
  float* const magnitudes = t->magnitudes + t->frames % RING * t->bins;
  fftwf_complex* const kept = t->kept + t->frames % RING * t->bins;
  take_spectrum(t->spectrum, t->bins, kept, magnitudes);
  if (t->frames % KEPT_EVERY == 0 && t->plain_count < t->plain_most) {
    memcpy(t->plain + t->plain_count * t->bins, magnitudes, t->bins * sizeof(float));
    ++t->plain_count;
  }
  ++t->frames;
  if (t->frames > TRANSIENTS_REACH) {
    bring_out(t);
  }
}

void
sr_transients_push(SrTransients* const t, const float* const samples, const size_t count)
{
  // The spectra just after the last sound are asked for too
  for (size_t done = 0; done < count && !(t->beyond && t->frames > t->beyond + RING);) {
    const size_t room = t->window - t->filled;
    const size_t step = count - done < room ? count - done : room;
    take_finite(samples + done, step, t->input + t->filled);
    t->filled += step;
    done += step;
    if (t->filled == t->window) {
      take_frame(t);
      memmove(t->input, t->input + t->hop, (t->window - t->hop) * sizeof(float));
      t->filled = t->window - t->hop;
    }
  }
}

void
sr_transients_finish(SrTransients* const t)
{
  static const float nothing[64] = {0.0f};
  for (size_t i = 0; i < (TRANSIENTS_REACH + TRANSIENTS_OVERLAP) * t->hop; i += 64) {
    sr_transients_push(t, nothing, 64);
  }
}
