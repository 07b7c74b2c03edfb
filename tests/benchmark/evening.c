// SPDX-License-Identifier: GPL-3.0-or-later

#include "evening.h"

#include "bench.h"

#include <steadyreed/sound.h>

#include <stdint.h>
#include <stdlib.h>

/// Rounds that are made; they come again and again.
#define ROUNDS 5u
/// One in this many is broken off half way.
#define BROKEN 7u
/// Largest sample of the room's noise: -50 dBFS RMS.
#define FLOOR 0.0055f

struct EveningImpl {
  double rate_hz;
  float* rounds[ROUNDS];
  size_t lengths[ROUNDS];
  uint64_t turn;    ///< Rounds and pauses so far
  size_t at;        ///< Place in this one
  size_t length;    ///< Of this one
  const float* now; ///< NULL in a pause
  uint32_t random;
};

Evening*
evening_new(const SrPhrase* const phrase, const double rate_hz)
{
  Evening* const evening = (Evening*)calloc(1, sizeof(Evening));
  SrSoundSettings settings = sr_sound_settings_default();
  settings.rate_hz = rate_hz;
  if (!evening) {
    bench_give_up("no memory");
    return NULL;
  }
  evening->rate_hz = rate_hz;
  evening->random = 1;
  for (size_t i = 0; i < ROUNDS; ++i) {
    SrSound* sound = NULL;
    SrError error = {0};
    settings.tempo_bpm = sr_sound_tempo(phrase) * (0.8 + 0.1 * (double)i);
    settings.cut_ms = 25.0 + 8.0 * (double)i;
    if (sr_sound_new(phrase, &settings, &sound, &error) != SR_OK) {
      bench_give_up(error.message);
    }
    const size_t length = (size_t)sr_sound_length(sound);
    evening->rounds[i] = (float*)malloc(length * sizeof(float));
    if (!evening->rounds[i]) {
      bench_give_up("no memory");
    }
    evening->lengths[i] = sr_sound_read(sound, evening->rounds[i], length);
    sr_sound_del(sound);
  }
  evening->length = (size_t)(1.0 * rate_hz);
  return evening;
}

void
evening_del(Evening* const evening)
{
  if (evening) {
    for (size_t i = 0; i < ROUNDS; ++i) {
      free(evening->rounds[i]);
    }
    free(evening);
  }
}

/// Pauses of half a second to four, and a long one now and then.
static double
pause_s(const uint64_t turn)
{
  return turn % 23 == 0 ? 60.0 : 0.5 + 0.7 * (double)(turn % 6);
}

static void
go_on(Evening* const evening)
{
  ++evening->turn;
  evening->at = 0;
  const uint64_t round = evening->turn / 2;
  if (evening->turn % 2) {
    evening->now = evening->rounds[round % ROUNDS];
    evening->length = evening->lengths[round % ROUNDS];
    evening->length /= round % BROKEN == BROKEN - 1 ? 2 : 1;
  } else {
    evening->now = NULL;
    evening->length = (size_t)(pause_s(round) * evening->rate_hz);
  }
}

void
evening_read(Evening* const evening, float* const samples, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    while (evening->at >= evening->length) {
      go_on(evening);
    }
    // Numerical Recipes' linear congruential generator, its upper bits.
    evening->random = evening->random * 1664525u + 1013904223u;
    const float noise = FLOOR * ((float)(evening->random >> 8) / 8388608.0f - 1.0f);
    samples[i] = noise + (evening->now ? evening->now[evening->at] : 0.0f);
    ++evening->at;
  }
}
