// SPDX-License-Identifier: GPL-3.0-or-later

#include "room.h"

#include <fftw3.h>

#include <stdlib.h>
#include <string.h>

static void
make_response(float* const response, const size_t count, const double rate_hz, const double rt60_s,
              const double direct_db, Random* const random)
{
  double low = 0.0;
  double square = 0.0;
  for (size_t i = (size_t)(0.005 * rate_hz); i < count; ++i) {
    const double t = (double)i / rate_hz;
    const double noise = random_normal(random);
    low += 0.25 * (noise - low);
    const double high = noise - low;
    const double value =
        2.0 * low * pow(10.0, -3.0 * t / rt60_s) + high * pow(10.0, -3.0 * t / (0.6 * rt60_s));
    response[i] = (float)value;
  }
  // A few distinct reflections, about a third of the reflected power
  for (size_t i = 0; i < count; ++i) {
    square += (double)(response[i] * response[i]);
  }
  for (int i = 0; i < 6; ++i) {
    const double t = random_between(random, 0.002, 0.025);
    const double sign = random_unit(random) < 0.5 ? -1.0 : 1.0;
    const double value = sign * sqrt(0.08 * square) * (1.0 - t / 0.05);
    response[(size_t)(t * rate_hz)] += (float)value;
  }
  square = 0.0;
  for (size_t i = 0; i < count; ++i) {
    square += (double)(response[i] * response[i]);
  }
  const double scale = pow(10.0, -direct_db / 20.0) / sqrt(square);
  for (size_t i = 0; i < count; ++i) {
    response[i] = (float)(scale * (double)response[i]);
  }
  response[0] += 1.0f;
}

void
room_apply(float* const samples, const size_t count, const double rate_hz, const double rt60_s,
           const double direct_db, Random* const random)
{
  const size_t response_count = (size_t)(1.1 * rt60_s * rate_hz);
  size_t size = 1;
  while (size < count + response_count) {
    size *= 2;
  }
  float* const a = fftwf_alloc_real(size);
  float* const b = fftwf_alloc_real(size);
  fftwf_complex* const x = fftwf_alloc_complex(size / 2 + 1);
  fftwf_complex* const y = fftwf_alloc_complex(size / 2 + 1);
  memset(a, 0, size * sizeof(float));
  memset(b, 0, size * sizeof(float));
  memcpy(a, samples, count * sizeof(float));
  make_response(b, response_count, rate_hz, rt60_s, direct_db, random);
  fftwf_plan forward = fftwf_plan_dft_r2c_1d((int)size, a, x, FFTW_ESTIMATE);
  fftwf_execute(forward);
  fftwf_execute_dft_r2c(forward, b, y);
  fftwf_destroy_plan(forward);
  for (size_t i = 0; i <= size / 2; ++i) {
    const float real = x[i][0] * y[i][0] - x[i][1] * y[i][1];
    const float imaginary = x[i][0] * y[i][1] + x[i][1] * y[i][0];
    x[i][0] = real / (float)size;
    x[i][1] = imaginary / (float)size;
  }
  fftwf_plan back = fftwf_plan_dft_c2r_1d((int)size, x, a, FFTW_ESTIMATE);
  fftwf_execute(back);
  fftwf_destroy_plan(back);
  memcpy(samples, a, count * sizeof(float));
  fftwf_free(a);
  fftwf_free(b);
  fftwf_free(x);
  fftwf_free(y);
}

void
room_noise(float* const samples, const size_t count, const double rate_hz, const double level_db,
           Random* const random)
{
  // Pink noise by a sum of first-order filters an octave and a half apart, made to its level
  double state[5] = {0};
  double square = 0.0;
  float* const noise = (float*)malloc(count * sizeof(float));
  for (size_t i = 0; i < count; ++i) {
    double sum = 0.0;
    const double white = random_normal(random);
    for (int k = 0; k < 5; ++k) {
      const double corner = 100.0 * pow(3.0, k);
      const double share = 1.0 - exp(-2.0 * M_PI * corner / rate_hz);
      state[k] += share * (white - state[k]);
      sum += state[k] / sqrt(corner);
    }
    noise[i] = (float)sum;
    square += sum * sum;
  }
  const double scale = pow(10.0, level_db / 20.0) / sqrt(square / (double)count + 1e-30);
  for (size_t i = 0; i < count; ++i) {
    samples[i] += (float)(scale * (double)noise[i]);
  }
  free(noise);
}
