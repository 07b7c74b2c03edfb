// SPDX-License-Identifier: GPL-3.0-or-later

#include "activation.h"

#include "lanes.h"

#include <math.h>

/// Updates before and after a reed is let in.
#define FIRST_UPDATES 3
#define MORE_UPDATES 4
/// Reeds let in, at most, in one frame.
#define MOST_NEW 3
/// An activation under this share of the frame is dropped.
#define LEAST_SHARE 1e-4f
/// Noise templates.
#define NOISES 2u

struct SrActivationImpl {
  SrFrameGrid grid;
  float* templates; ///< SR_PITCHES rows
  float* noises;    ///< NOISES rows
  float* floor;
  float* model;
  float* ratio;
  float entry[SR_PITCHES]; ///< What a reed's gradient must reach to be let in
  size_t count;
  size_t pitch[SR_ACTIVE_SIZE];
  float amount[SR_ACTIVE_SIZE];
  float noise[NOISES];
};

static void
set_entries(SrActivation* const a, const SrProfile* const profile, const SrExpected* const expected)
{
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    const bool learnt = profile->reeds[p].learnt;
    const bool written = expected && expected->any && expected->expected[p + SR_LOWEST_MIDI];
    a->entry[p] = written ? 1.10f : learnt ? 1.20f : (expected && expected->any) ? 1.6f : 1.35f;
  }
}

static void
set_noises(SrActivation* const a)
{
  float sums[NOISES] = {0.0f, 0.0f};
  for (size_t b = 0; b < a->grid.bins; ++b) {
    const double hz = (double)(a->grid.first_bin + b) * a->grid.bin_hz;
    a->noises[b] = 1.0f;
    a->noises[a->grid.padded + b] = (float)(1.0 / (1.0 + (hz / 500.0) * (hz / 500.0)));
    sums[0] += a->noises[b];
    sums[1] += a->noises[a->grid.padded + b];
  }
  for (size_t b = 0; b < a->grid.bins; ++b) {
    a->noises[b] /= sums[0];
    a->noises[a->grid.padded + b] /= sums[1];
  }
}

SrActivation*
sr_activation_new(const SrProfile* const profile, const SrFrameGrid* const grid,
                  const SrExpected* const expected)
{
  SrActivation* const a = (SrActivation*)calloc(1, sizeof(SrActivation));
  if (!a) {
    return NULL;
  }
  a->grid = *grid;
  a->templates = sr_lanes_new(SR_PITCHES * grid->padded);
  a->noises = sr_lanes_new(NOISES * grid->padded);
  a->floor = sr_lanes_new(grid->padded);
  a->model = sr_lanes_new(grid->padded);
  a->ratio = sr_lanes_new(grid->padded);
  if (!a->templates || !a->noises || !a->floor || !a->model || !a->ratio) {
    sr_activation_del(a);
    return NULL;
  }
  sr_profile_templates(profile, grid, a->templates);
  sr_profile_floor(profile, grid, a->floor);
  set_entries(a, profile, expected);
  set_noises(a);
  return a;
}

void
sr_activation_del(SrActivation* const a)
{
  if (a) {
    free(a->templates);
    free(a->noises);
    free(a->floor);
    free(a->model);
    free(a->ratio);
    free(a);
  }
}

const float*
sr_activation_template(const SrActivation* const a, const size_t pitch)
{
  return a->templates + pitch * a->grid.padded;
}

void
sr_activation_restart(SrActivation* const a, const SrActivationFrame* const frame)
{
  a->count = frame->count;
  memcpy(a->pitch, frame->pitch, sizeof(a->pitch));
  memcpy(a->amount, frame->amount, sizeof(a->amount));
  memcpy(a->noise, frame->noise, sizeof(a->noise));
}

static float
dot(const float* const x, const float* const y, const size_t padded)
{
  const SrLanes* const xs = (const SrLanes*)(const void*)x;
  const SrLanes* const ys = (const SrLanes*)(const void*)y;
  SrLanes sum = {0};
  for (size_t i = 0; i < padded / SR_LANES; ++i) {
    sum += xs[i] * ys[i];
  }
  return sr_lanes_sum(&sum);
}

/// ratio = magnitudes / (floor + sum of templates times activations)
static void
divide(SrActivation* const a, const float* const magnitudes)
{
  const size_t vectors = a->grid.padded / SR_LANES;
  const SrLanes* const v = (const SrLanes*)(const void*)magnitudes;
  const SrLanes* const floor = (const SrLanes*)(const void*)a->floor;
  const SrLanes* const flat = (const SrLanes*)(const void*)a->noises;
  SrLanes* const model = (SrLanes*)(void*)a->model;
  SrLanes* const ratio = (SrLanes*)(void*)a->ratio;
  for (size_t i = 0; i < vectors; ++i) {
    SrLanes sum = floor[i] + flat[i] * a->noise[0] + flat[vectors + i] * a->noise[1];
    for (size_t j = 0; j < a->count; ++j) {
      const SrLanes* const row =
          (const SrLanes*)(const void*)(a->templates + a->pitch[j] * a->grid.padded);
      sum += row[i] * a->amount[j];
    }
    model[i] = sum;
    ratio[i] = v[i] / sum;
  }
}

static void
update(SrActivation* const a, const float* const magnitudes)
{
  for (size_t j = 0; j < a->count; ++j) {
    a->amount[j] *= dot(a->templates + a->pitch[j] * a->grid.padded, a->ratio, a->grid.padded);
  }
  for (size_t n = 0; n < NOISES; ++n) {
    a->noise[n] *= dot(a->noises + n * a->grid.padded, a->ratio, a->grid.padded);
  }
  divide(a, magnitudes);
}

/// Let in the reed whose gradient asks most for it, if one does.
static bool
let_in(SrActivation* const a, const float least)
{
  if (a->count == SR_ACTIVE_SIZE) {
    return false;
  }
  size_t best = SR_PITCHES;
  float most = 1.0f;
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    bool active = false;
    for (size_t j = 0; j < a->count; ++j) {
      active = active || a->pitch[j] == p;
    }
    if (!active) {
      const float gradient = dot(a->templates + p * a->grid.padded, a->ratio, a->grid.padded);
      if (gradient / a->entry[p] > most) {
        most = gradient / a->entry[p];
        best = p;
      }
    }
  }
  if (best == SR_PITCHES) {
    return false;
  }
  a->pitch[a->count] = best;
  a->amount[a->count++] = least;
  return true;
}

static void
drop_silent(SrActivation* const a, const float least)
{
  size_t kept = 0;
  for (size_t j = 0; j < a->count; ++j) {
    if (a->amount[j] > least) {
      a->pitch[kept] = a->pitch[j];
      a->amount[kept++] = a->amount[j];
    }
  }
  a->count = kept;
}

static float
sum_of(const float* const values, const size_t count)
{
  float sum = 0.0f;
  for (size_t i = 0; i < count; ++i) {
    sum += values[i];
  }
  return sum;
}

void
sr_activation_do(SrActivation* const a, const float* const magnitudes,
                 SrActivationFrame* const frame)
{
  const float total = sum_of(magnitudes, a->grid.bins);
  const float least = LEAST_SHARE * total + 1e-9f;

  // What fell to nothing must be able to grow again
  for (size_t n = 0; n < NOISES; ++n) {
    a->noise[n] = fmaxf(a->noise[n], 3.0f * least);
  }
  divide(a, magnitudes);
  for (int i = 0; i < FIRST_UPDATES; ++i) {
    update(a, magnitudes);
  }
  for (int i = 0; i < MOST_NEW && let_in(a, 0.02f * total); ++i) {
    divide(a, magnitudes);
    for (int j = 0; j < MORE_UPDATES; ++j) {
      update(a, magnitudes);
    }
  }
  drop_silent(a, least);

  frame->count = a->count;
  memcpy(frame->pitch, a->pitch, sizeof(frame->pitch));
  memcpy(frame->amount, a->amount, sizeof(frame->amount));
  memcpy(frame->noise, a->noise, sizeof(frame->noise));
  frame->total = total;
  float misfit = 0.0f;
  for (size_t b = 0; b < a->grid.bins; ++b) {
    const float d = magnitudes[b] - a->model[b];
    misfit += d * d / (magnitudes[b] + a->model[b]);
  }
  frame->misfit = total > 0.0f ? misfit / total : 0.0f;
}
