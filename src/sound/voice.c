// SPDX-License-Identifier: GPL-3.0-or-later

#include "voice.h"

#include <math.h>
#include <string.h>

/// Highest partial, Hz.
#define HIGHEST_HZ 12000.0
/// Level of breath noise relative to the tone.
#define BREATH 0.006f

void
sr_voice_make(SrVoice* const voice, const double frequency_hz, const double rate_hz)
{
  memset(voice, 0, sizeof(*voice));
  voice->step = frequency_hz / rate_hz * SR_VOICE_TABLE;
  voice->attack_s = 0.003 * exp2(log2(1046.5 / frequency_hz) * 0.8);
  voice->attack_s = fmin(fmax(voice->attack_s, 0.002), 0.015);
  voice->release_s = 0.004;
  double square = 0.0;
  for (int k = 1; frequency_hz * k < fmin(HIGHEST_HZ, 0.45 * rate_hz) && k <= 40; ++k) {
    const double even = k % 2 ? 1.0 : 0.75;
    const double amplitude = even / (k * (1.0 + pow(k / 8.0, 2.0)));
    square += amplitude * amplitude;
    for (size_t i = 0; i <= SR_VOICE_TABLE; ++i) {
      const double turn = 2.0 * M_PI * k * (double)i / SR_VOICE_TABLE;
      voice->table[i] += (float)(amplitude * sin(turn + 0.6 * k * k));
    }
  }
  const float scale = square > 0.0 ? (float)(1.0 / sqrt(square)) : 0.0f;
  for (size_t i = 0; i <= SR_VOICE_TABLE; ++i) {
    voice->table[i] *= scale;
  }
}

/// White noise as a function of the sample index alone, so that the chunk size does not matter
/// (Steele and Vigna's mixing steps).
static float
breath(uint64_t x)
{
  x += UINT64_C(0x9E3779B97F4A7C15);
  x = (x ^ (x >> 30u)) * UINT64_C(0xBF58476D1CE4E5B9);
  x = (x ^ (x >> 27u)) * UINT64_C(0x94D049BB133111EB);
  x ^= x >> 31u;
  return (float)((double)(x >> 11u) / 4503599627370496.0 - 1.0);
}

float
sr_voice_sample(const SrVoice* const voice, const double age_s, const double left_s,
                const uint64_t age)
{
  const double rise = 1.0 - exp(-age_s / voice->attack_s);
  const double fall = left_s >= 0.0 ? 1.0 : exp(left_s / voice->release_s);
  const double place = fmod((double)age * voice->step, SR_VOICE_TABLE);
  const size_t index = (size_t)place;
  const float part = (float)(place - (double)index);
  const float tone = voice->table[index] + part * (voice->table[index + 1] - voice->table[index]);
  return (float)(rise * fall) * (tone + BREATH * breath(age));
}
