// SPDX-License-Identifier: GPL-3.0-or-later

#include "hiss.h"

#include <fftw3.h>

#include <stdlib.h>
#include <string.h>

/// Magnitude of a colour at a frequency.
static double
magnitude(const HissColour colour, const double hz)
{
  if (hz < 500.0 || hz > 10000.0) {
    return 0.0;
  }
  switch (colour) {
  case HISS_PINK:
    return sqrt(500.0 / hz);
  case HISS_DARK:
    return hz < 1500.0 ? 1.0 : 1500.0 / hz;
  case HISS_BRIGHT:
    return sqrt(hz / 500.0);
  case HISS_HOLLOW:
    return 1.0 + 1.8 * exp(-pow(log2(hz / 2200.0) / 0.35, 2.0));
  case HISS_WHITE:
  case HISS_COLOURS:
  default:
    return 1.0;
  }
}

static double
amplitude(const HissCourse course, const double at_s, const double length_s)
{
  const double edge = fmin(1.0, fmin(at_s, length_s - at_s) / 0.010);
  const double place = at_s / length_s;
  switch (course) {
  case HISS_SWELL:
    return sin(M_PI * place);
  case HISS_RISING:
    return edge * (0.5 + 0.5 * place);
  case HISS_FALLING:
    return edge * (1.0 - 0.5 * place);
  case HISS_EVEN:
  case HISS_COURSES:
  default:
    return edge;
  }
}

void
hiss_add(float* const out, const size_t out_count, const double rate_hz, const double start_s,
         const double length_s, const double rms, const HissColour colour, const HissCourse course,
         Random* const random)
{
  const size_t count = (size_t)(length_s * rate_hz);
  size_t size = 1024;
  while (size < count) {
    size *= 2;
  }
  float* const noise = fftwf_alloc_real(size);
  fftwf_complex* const bins = fftwf_alloc_complex(size / 2 + 1);
  for (size_t i = 0; i <= size / 2; ++i) {
    const double scale = magnitude(colour, (double)i * rate_hz / (double)size);
    bins[i][0] = (float)(scale * random_normal(random));
    bins[i][1] = (float)(scale * random_normal(random));
  }
  fftwf_plan plan = fftwf_plan_dft_c2r_1d((int)size, bins, noise, FFTW_ESTIMATE);
  fftwf_execute(plan);
  fftwf_destroy_plan(plan);
  double square = 0.0;
  for (size_t i = 0; i < size; ++i) {
    square += (double)(noise[i] * noise[i]) / (double)size;
  }
  double core = 0.0;
  double core_count = 0.0;
  for (size_t i = 0; i < count; ++i) {
    const double a = amplitude(course, (double)i / rate_hz, length_s);
    if (a * a > 1.0 / 3.0) {
      core += a * a;
      core_count += 1.0;
    }
  }
  const double scale = rms / sqrt(square * core / fmax(core_count, 1.0));
  const size_t from = (size_t)(start_s * rate_hz);
  for (size_t i = 0; i < count && from + i < out_count; ++i) {
    const double a = amplitude(course, (double)i / rate_hz, length_s);
    out[from + i] += (float)(scale * a * (double)noise[i]);
  }
  fftwf_free(noise);
  fftwf_free(bins);
}
