// SPDX-License-Identifier: GPL-3.0-or-later

#include "bench.h"

#include <steadyreed/audio.h>
#include <steadyreed/phrase.h>
#include <steadyreed/sound.h>

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define RATE_HZ 44100.0
/// Largest sample of the room's noise: -50 dBFS RMS, since silence costs less to hear than a room.
#define FLOOR 0.0055f

typedef struct {
  SrSound* sound;
  uint64_t left;
  uint32_t random;
} Source;

static size_t
read_source(void* const context, float* const samples, const size_t count)
{
  Source* const source = context;
  const size_t wanted = source->left < count ? (size_t)source->left : count;
  const size_t given = wanted ? sr_sound_read(source->sound, samples, wanted) : 0;
  source->left -= given;
  for (size_t i = 0; i < given; ++i) {
    // Numerical Recipes' linear congruential generator, its upper bits.
    source->random = source->random * 1664525u + 1013904223u;
    samples[i] += FLOOR * ((float)(source->random >> 8) / 8388608.0f - 1.0f);
  }
  return given;
}

void
bench_write_take(const char* const phrase_path, const char* const take_path, const double seconds)
{
  SrError error = {0};
  SrPhrase* phrase = NULL;
  Source source = {NULL, (uint64_t)(seconds * RATE_HZ), 1};
  SrSoundSettings settings = sr_sound_settings_default();
  settings.rate_hz = RATE_HZ;
  settings.rounds = 1 + (unsigned)(seconds / 20.0);
  if (sr_phrase_read_file(phrase_path, NULL, &phrase, &error) != SR_OK ||
      sr_sound_new(phrase, &settings, &source.sound, &error) != SR_OK ||
      sr_audio_write(take_path, RATE_HZ, SR_SAMPLES_16_BIT, read_source, &source, &error) !=
          SR_OK) {
    bench_give_up(error.message);
  }
  if (source.left > 0) {
    bench_give_up("The take came out too short.");
  }
  sr_sound_del(source.sound);
  sr_phrase_del(phrase);
}

static int
compare(const void* const left, const void* const right)
{
  const double one = *(const double*)left;
  const double two = *(const double*)right;
  return (one > two) - (one < two);
}

double
bench_median(double* const values, const size_t count)
{
  qsort(values, count, sizeof(double), compare);
  return count % 2 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2.0;
}

void
bench_give_up(const char* const why)
{
  fprintf(stderr, "could not run: %s\n", why);
  exit(1);
}

double
bench_now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

const char*
bench_verdict(const int met)
{
  return met ? "target met" : "target not met";
}
