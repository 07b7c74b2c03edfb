// SPDX-License-Identifier: GPL-3.0-or-later

#include "clicks.h"

#include "room.h"

#include <steadyreed/sound.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

SrClickSetting
setting_make(const double rate_hz, const double period, const unsigned bar_clicks,
             const unsigned count_in, const double began)
{
  SrClickSetting s = {.rate_hz = rate_hz,
                      .period = period,
                      .bar_clicks = bar_clicks,
                      .count_in = count_in,
                      .began = began};
  float* sounds[2] = {NULL, NULL};
  size_t counts[2] = {0, 0};
  for (size_t i = 0; i < 2; ++i) {
    counts[i] = sr_sound_click(rate_hz, i == 1, NULL, 0);
    sounds[i] = (float*)calloc(counts[i], sizeof(float));
    sr_sound_click(rate_hz, i == 1, sounds[i], counts[i]);
    for (size_t k = 0; i == 0 && k < counts[i]; ++k) {
      sounds[i][k] *= 0.6f; // an accent is also louder
    }
  }
  s.plain = sounds[0];
  s.plain_count = counts[0];
  s.accent = sounds[1];
  s.accent_count = counts[1];
  return s;
}

void
setting_free(SrClickSetting* const setting)
{
  float* sounds[2];
  memcpy(&sounds[0], &setting->plain, sizeof(float*));
  memcpy(&sounds[1], &setting->accent, sizeof(float*));
  free(sounds[0]);
  free(sounds[1]);
}

/// Add a sound between samples, band-limited.
static void
add_at(float* const out, const size_t count, const double at, const float* const sound,
       const size_t sound_count)
{
  const int reach = 32;
  const double whole = floor(at);
  const double part = at - whole;
  double taps[2 * 32 + 1];
  for (int k = -reach; k <= reach; ++k) {
    const double x = (double)k - part;
    taps[k + reach] = (fabs(x) < 1e-9 ? 1.0 : sin(M_PI * x) / (M_PI * x)) *
                      (0.5 + 0.5 * cos(M_PI * x / (reach + 1.0)));
  }
  for (size_t i = 0; i < sound_count; ++i) {
    for (int k = -reach; k <= reach; ++k) {
      const long to = (long)whole + (long)i + k;
      if (to >= 0 && to < (long)count) {
        out[to] += (float)(taps[k + reach] * (double)sound[i]);
      }
    }
  }
}

/// What rings softer than this has stopped: on such numbers processors are slow.
#define SILENCE 1e-25

/// A loudspeaker of a few centimetres: little under 600 Hz, two resonances.
static void
loudspeaker(float* const samples, const size_t count, const double rate_hz, const double drive,
            Random* const random)
{
  const double low = exp(-2.0 * M_PI * 600.0 / rate_hz);
  for (int turn = 0; turn < 2; ++turn) {
    double state = 0.0;
    for (size_t i = 0; i < count; ++i) {
      state = low * state + (1.0 - low) * (double)samples[i];
      state = fabs(state) < SILENCE ? 0.0 : state;
      samples[i] = (float)((double)samples[i] - state);
    }
  }
  const double hz[2] = {random_between(random, 900.0, 1800.0),
                        random_between(random, 2500.0, 5000.0)};
  for (int k = 0; k < 2; ++k) {
    const double radius = exp(-M_PI * random_between(random, 150.0, 500.0) / rate_hz);
    const double turn = 2.0 * radius * cos(2.0 * M_PI * hz[k] / rate_hz);
    double state[2] = {0.0, 0.0};
    for (size_t i = 0; i < count; ++i) {
      double value = (double)samples[i] + turn * state[0] - radius * radius * state[1];
      value = fabs(value) < SILENCE ? 0.0 : value;
      samples[i] += (float)(0.6 * (1.0 - radius) * value);
      state[1] = state[0];
      state[0] = value;
    }
  }
  for (size_t i = 0; drive > 0.0 && i < count; ++i) {
    samples[i] = (float)(tanh(drive * (double)samples[i]) / drive);
  }
}

void
clicks_add(const SrClickSetting* const setting, const ClickWay* const way, float* const samples,
           const size_t count, float* const alone)
{
  Random random = {way->seed * 6364136223846793005u + 3u};
  float* const train = (float*)calloc(count, sizeof(float));
  const unsigned both = setting->on_bars + setting->off_bars;
  size_t first = 0;
  for (unsigned k = 0;; ++k) {
    const double at = setting->began + way->delay + k * setting->period * (1.0 + way->drift);
    if (at > (double)count) {
      break;
    }
    const bool silent = k >= setting->count_in && setting->off_bars > 0 && setting->on_bars > 0 &&
                        ((k - setting->count_in) / setting->bar_clicks) % both >= setting->on_bars;
    if (!silent) {
      const bool accent = setting->bar_clicks > 0 && k % setting->bar_clicks == 0;
      add_at(train, count, at, accent ? setting->accent : setting->plain,
             accent ? setting->accent_count : setting->plain_count);
      first = k == 1 ? (size_t)fmax(at, 0.0) : first;
    }
  }
  loudspeaker(train, count, setting->rate_hz, way->drive, &random);
  if (way->rt60_s > 0.0) {
    room_apply(train, count, setting->rate_hz, way->rt60_s, way->direct_db, &random);
  }
  float most = 0.0f;
  for (size_t i = first; i < count && i < first + (size_t)(0.05 * setting->rate_hz); ++i) {
    most = fmaxf(most, fabsf(train[i]));
  }
  for (size_t i = 0; i < count; ++i) {
    train[i] *= (float)(way->level / (double)most);
    samples[i] += train[i];
    if (alone) {
      alone[i] = train[i];
    }
  }
  free(train);
}
