// SPDX-License-Identifier: GPL-3.0-or-later

#include "second_pass.h"

#include "block.h"
#include "harmonic.h"
#include "sound_finder.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Statistics of one reed.
typedef struct {
  double frames;
  double amplitude[SR_HARMONICS];
  double turn[SECOND_PASS_MEASURED][2];
  float last[SECOND_PASS_MEASURED][2];
  bool led_before; ///< It led the previous block
} Gathered;

static size_t
harmonic_bin(const SrProfile* const profile, const SrFrameGrid* const grid, const size_t pitch,
             const size_t k)
{
  const double hz = sr_profile_frequency_hz(profile, pitch) * (double)(k + 1);
  const double place = hz / grid->bin_hz - (double)grid->first_bin;
  return place < 0.0 || place >= (double)grid->bins ? grid->bins : (size_t)lround(place);
}

static void
gather(Gathered* const gathered, const SrProfile* const profile, const SrFrameGrid* const grid,
       const SrBlock* const block, const size_t pitch)
{
  const float* const magnitudes = sr_block_magnitudes(block, SR_BLOCK_FRAMES - 1);
  double sum = 0.0;
  double amplitude[SR_HARMONICS] = {0};
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    const size_t bin = harmonic_bin(profile, grid, pitch, k);
    if (bin < grid->bins) {
      amplitude[k] = (double)magnitudes[bin];
      sum += amplitude[k];
    }
  }
  for (size_t k = 0; k < SR_HARMONICS && sum > 0.0; ++k) {
    gathered->amplitude[k] += amplitude[k] / sum;
  }
  for (size_t k = 0; k < SECOND_PASS_MEASURED; ++k) {
    const size_t bin = harmonic_bin(profile, grid, pitch, k);
    float now[2] = {0.0f, 0.0f};
    if (bin < grid->bins) {
      sr_framer_bin(sr_block_framer(block), bin, &now[0], &now[1]);
    }
    float* const last = gathered->last[k];
    if (gathered->led_before) {
      gathered->turn[k][0] += (double)(now[0] * last[0] + now[1] * last[1]);
      gathered->turn[k][1] += (double)(now[1] * last[0] - now[0] * last[1]);
    }
    memcpy(last, now, sizeof(now));
  }
  gathered->frames += 1.0;
}

static void
learn(SrProfile* const profile, const SrFrameGrid* const grid, const Gathered* const gathered,
      const size_t pitch)
{
  SrReed* const reed = &profile->reeds[pitch];
  const double nominal = sr_profile_frequency_hz(profile, pitch);
  const double lag_s = (double)(SR_BLOCK_FRAMES * grid->hop) / grid->rate_hz;
  double sum = 0.0;
  double weights = 0.0;
  for (size_t k = 0; k < SECOND_PASS_MEASURED; ++k) {
    const double* const turn = gathered->turn[k];
    const double number = (double)(k + 1);
    const double off =
        remainder(atan2(turn[1], turn[0]) - 2.0 * M_PI * nominal * number * lag_s, 2.0 * M_PI);
    const double weight = hypot(turn[0], turn[1]) * number * number;
    sum += weight * off / (2.0 * M_PI * lag_s * number);
    weights += weight;
  }
  if (weights > 0.0) {
    const double cents = 1200.0 * log2((nominal + sum / weights) / nominal);
    if (fabs(cents) < 40.0) {
      reed->cents += (float)cents;
    }
  }
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    reed->amplitude[k] = (float)(gathered->amplitude[k] / gathered->frames);
  }
  reed->learnt = true;
  reed->weight = (float)(gathered->frames * lag_s);
}

static bool
leads(const SrActivationFrame* const frame, const size_t index)
{
  float others = 0.0f;
  for (size_t j = 0; j < frame->count; ++j) {
    if (j != index && !sr_is_harmonic(frame->pitch[index], frame->pitch[j])) {
      others += frame->amount[j];
    }
  }
  return frame->amount[index] > LEADING_SHARE * frame->total &&
         others < OTHERS_SHARE * frame->total;
}

SrStatus
sr_second_pass(SrProfile* const profile, const SrFrameGrid* const grid,
               const SrExpected* const expected, const float* const samples, const size_t count)
{
  SrBlock* const block = sr_block_new(profile, grid, expected);
  SrSoundFinder* const finder = sr_sound_finder_new(profile, grid, expected);
  Gathered* const gathered = (Gathered*)calloc(SR_PITCHES, sizeof(Gathered));
  if (!block || !finder || !gathered) {
    sr_block_del(block);
    sr_sound_finder_del(finder);
    free(gathered);
    return SR_NO_MEMORY;
  }
  float loudest = 0.0f;
  const size_t reach = sr_block_reach(block);
  for (size_t at = 0; at + reach <= count; at += sr_block_step(block)) {
    SrActivationFrame frames[SR_BLOCK_FRAMES];
    sr_block_do(block, samples + at, frames);
    SrEvent event;
    for (size_t i = 0; i < SR_BLOCK_FRAMES; ++i) {
      sr_sound_finder_do(finder, &frames[i], sr_block_magnitudes(block, i), NULL);
    }
    while (sr_sound_finder_pull(finder, &event)) {
    }
    const SrActivationFrame* const frame = &frames[SR_BLOCK_FRAMES - 1];
    loudest = fmaxf(0.999f * loudest, frame->total);
    for (size_t j = 0; j < frame->count; ++j) {
      const size_t pitch = frame->pitch[j];
      if (pitch >= SR_PITCHES) {
        continue;
      }
      const bool led = leads(frame, j) && frame->total > 0.2f * loudest;
      if (led && !profile->reeds[pitch].learnt) {
        gather(&gathered[pitch], profile, grid, block, pitch);
      }
      gathered[pitch].led_before = led;
    }
  }
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if (gathered[p].frames >= LEAST_FRAMES) {
      learn(profile, grid, &gathered[p], p);
    }
  }
  sr_profile_fill(profile);
  sr_sound_finder_learnt(finder, profile);
  sr_sound_finder_del(finder);
  sr_block_del(block);
  free(gathered);
  return SR_OK;
}
