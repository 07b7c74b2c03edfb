// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file noisy_tone.h
   A steady harmonic tone and white noise, each of known power.
*/

#ifndef TEST_NOISY_TONE_H
#define TEST_NOISY_TONE_H

#include "../support/random.h"

#include <math.h>
#include <stddef.h>

#define TONE_RATE_HZ 44100.0
#define TONE_HARMONICS 14

static inline double
tone_hz(const int midi, const double cents)
{
  return 440.0 * exp2((midi - 69 + cents / 100.0) / 12.0);
}

/// Add a tone with harmonics 1/k under 10 kHz; returns its power.
static inline double
add_tone(float* const samples, const size_t count, const double hz, const double amplitude)
{
  double power = 0.0;
  for (int k = 1; k <= TONE_HARMONICS && k * hz < 10000.0; ++k) {
    const double peak = amplitude / k;
    power += 0.5 * peak * peak;
    for (size_t i = 0; i < count; ++i) {
      const double phase = 2.0 * M_PI * hz * k * (double)i / TONE_RATE_HZ + 0.7 * k * k;
      samples[i] += (float)(peak * sin(phase));
    }
  }
  return power;
}

/// Add white noise of a power, from 0 Hz to half the rate.
static inline void
add_noise(float* const samples, const size_t count, const double power, Random* const random)
{
  const double rms = sqrt(power);
  for (size_t i = 0; i < count; ++i) {
    samples[i] += (float)(rms * random_normal(random));
  }
}

static inline double
decibels(const double power)
{
  return 10.0 * log10(power + 1e-20);
}

#endif // TEST_NOISY_TONE_H
