// SPDX-License-Identifier: GPL-3.0-or-later

// What share of one core it takes to look for the click, and to take it out.

#include "bench.h"

#include <steadyreed/click.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ 48000.0
#define MINUTE_S 60.0
#define TURNS 5
#define CHUNK 480u
#define TARGET_PERCENT 0.5
#define MOST_SOUND 3000u

/// A minute of noise, and of clicks that arrive 40 ms late with an echo, if they are heard.
static float*
make_minute(const SrClickSetting* const setting, const size_t count, const int heard)
{
  float* const samples = (float*)calloc(count, sizeof(float));
  if (!samples) {
    bench_give_up("no memory");
  }
  uint32_t state = 1;
  for (size_t i = 0; i < count; ++i) {
    state = state * 1664525u + 1013904223u;
    samples[i] = 1e-3f * ((float)(state >> 8u) / 8388608.0f - 1.0f);
  }
  for (unsigned k = 0; heard && 14000.0 + k * setting->period < (double)count; ++k) {
    const double at = 1920.0 + k * setting->period;
    for (size_t i = 0; i < setting->plain_count; ++i) {
      samples[(size_t)at + i] += 0.3f * setting->plain[i];
      samples[(size_t)at + 900 + i] -= 0.1f * setting->plain[i];
    }
  }
  return samples;
}

int
main(void)
{
  static float plain[MOST_SOUND];
  static float accent[MOST_SOUND];
  SrClickSetting setting = {.rate_hz = RATE_HZ, .period = 24000.0};
  setting.plain = plain;
  setting.plain_count = sr_sound_click(RATE_HZ, false, plain, MOST_SOUND);
  setting.accent = accent;
  setting.accent_count = sr_sound_click(RATE_HZ, true, accent, MOST_SOUND);
  const size_t count = (size_t)(MINUTE_S * RATE_HZ);
  for (int heard = 0; heard < 2; ++heard) {
    float* const minute = make_minute(&setting, count, heard);
    float* const samples = (float*)malloc(count * sizeof(float));
    if (!samples) {
      bench_give_up("no memory");
    }
    double percent[TURNS];
    double longest_ms = 0.0;
    for (size_t turn = 0; turn < TURNS; ++turn) {
      memcpy(samples, minute, count * sizeof(float));
      SrClickRemover* remover = NULL;
      if (sr_click_remover_new(&setting, &remover, NULL) != SR_OK) {
        bench_give_up("no remover");
      }
      const double begun = bench_now_s();
      for (size_t at = 0; at < count; at += CHUNK) {
        const double chunk_begun = bench_now_s();
        sr_click_remover_do(remover, samples + at, CHUNK);
        longest_ms = fmax(longest_ms, 1e3 * (bench_now_s() - chunk_begun));
      }
      percent[turn] = 100.0 * (bench_now_s() - begun) / MINUTE_S;
      if (sr_click_remover_heard(remover).heard != (heard == 1)) {
        bench_give_up("the click is not heard, or one that is not there");
      }
      sr_click_remover_del(remover);
    }
    const double median = bench_median(percent, TURNS);
    printf("click %-17s %.3f %% of one core at 48 kHz, 120 a minute; longest 10 ms took %.2f ms "
           "(target %.1f %%, %s)\n",
           heard ? "taken out:" : "looked for, none:", median, longest_ms, TARGET_PERCENT,
           bench_verdict(median <= TARGET_PERCENT));
    free(minute);
    free(samples);
  }
  return 0;
}
