// SPDX-License-Identifier: GPL-3.0-or-later

#include "frame.h"

#include "simd.h"
#include "transform_plans.h"
#include "transform_size.h"
#include "windowed.h"

#include <fftw3.h>

#include <math.h>

struct SrFramerImpl {
  SrFrameGrid grid;
  float* window;
  float* input;
  fftwf_complex* output;
  fftwf_plan plan;
};

/// Largest even number up to `n` whose prime factors are at most 7, for a fast transform.
static size_t
good_size(const size_t n)
{
  size_t size = n & ~(size_t)1;
  while (size > 2 && !sr_has_small_factors(size, 7)) {
    size -= 2;
  }
  return size > 2 ? size : 2;
}

SrFrameGrid
sr_frame_grid(const double rate_hz)
{
  SrFrameGrid grid = {0};
  grid.rate_hz = rate_hz;
  grid.window = good_size((size_t)lround(SR_FRAME_WINDOW_S * rate_hz));
  grid.hop = (size_t)lround(SR_FRAME_HOP_S * rate_hz);
  grid.bin_hz = rate_hz / (double)grid.window;
  grid.first_bin = (size_t)ceil(SR_FRAME_LOW_HZ / grid.bin_hz);
  grid.bins = (size_t)floor(SR_FRAME_HIGH_HZ / grid.bin_hz) - grid.first_bin + 1;
  grid.padded = sr_vector_padded(grid.bins);
  return grid;
}

double
sr_frame_lobe(const double distance_hz, const double seconds)
{
  const double x = fabs(distance_hz * seconds);
  if (x < 1e-6) {
    return 1.0;
  }
  if (fabs(x - 1.0) < 1e-6) {
    return 0.5;
  }
  return fabs(sin(M_PI * x) / (M_PI * x) / (1.0 - x * x));
}

SrFramer*
sr_framer_new(const SrFrameGrid* const grid)
{
  SrFramer* const framer = (SrFramer*)calloc(1, sizeof(SrFramer));
  if (!framer) {
    return NULL;
  }
  framer->grid = *grid;
  framer->window = sr_vector_new(grid->window);
  framer->input = fftwf_alloc_real(grid->window);
  framer->output = fftwf_alloc_complex(grid->window / 2 + 1);
  if (framer->window && framer->input && framer->output) {
    framer->plan = sr_transform_plan(grid->window, framer->input, framer->output);
  }
  if (!framer->plan) {
    sr_framer_del(framer);
    return NULL;
  }
  // Hann window, scaled so that a sine of amplitude 1 has a peak of 1
  for (size_t n = 0; n < grid->window; ++n) {
    const double phase = 2.0 * M_PI * ((double)n + 0.5) / (double)grid->window;
    framer->window[n] = (float)((0.5 - 0.5 * cos(phase)) * 4.0 / (double)grid->window);
  }
  return framer;
}

void
sr_framer_del(SrFramer* const framer)
{
  if (framer) {
    if (framer->plan) {
      fftwf_destroy_plan(framer->plan);
    }
    fftwf_free(framer->input);
    fftwf_free(framer->output);
    free(framer->window);
    free(framer);
  }
}

void
sr_framer_do(SrFramer* const framer, const float* const samples, float* const magnitudes)
{
  const SrFrameGrid* const grid = &framer->grid;
  sr_windowed(samples, framer->window, grid->window, framer->input);
  fftwf_execute(framer->plan);
  sr_magnitudes(framer->output + grid->first_bin, grid->bins, magnitudes);
  for (size_t b = grid->bins; b < grid->padded; ++b) {
    magnitudes[b] = 0.0f;
  }
}

void
sr_framer_bin(const SrFramer* const framer, const size_t bin, float* const real,
              float* const imaginary)
{
  *real = framer->output[framer->grid.first_bin + bin][0];
  *imaginary = framer->output[framer->grid.first_bin + bin][1];
}
