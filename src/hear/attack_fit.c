// SPDX-License-Identifier: GPL-3.0-or-later

#include "attack_fit.h"

#include "larger.h"
#include "simd.h"
#include "tuning.h"

#include <math.h>
#include <stdint.h>

struct SrAttackFitImpl {
  SrFrameGrid grid;
  SrActivation* activation;
  float* frames; ///< KEPT rows
  uint64_t count;
};

SrAttackFit*
sr_attack_fit_new(const SrProfile* const profile, const SrFrameGrid* const grid,
                  const SrExpected* const expected)
{
  SrAttackFit* const h = (SrAttackFit*)calloc(1, sizeof(SrAttackFit));
  if (h) {
    h->grid = *grid;
    h->activation = sr_activation_new(profile, grid, expected);
    h->frames = sr_vector_new(KEPT * grid->padded);
  }
  if (h && h->activation && h->frames) {
    return h;
  }
  sr_attack_fit_del(h);
  return NULL;
}

void
sr_attack_fit_del(SrAttackFit* const h)
{
  if (h) {
    sr_activation_del(h->activation);
    free(h->frames);
    free(h);
  }
}

static float*
kept(const SrAttackFit* const h, const uint64_t frame)
{
  return h->frames + (size_t)(frame % KEPT) * h->grid.padded;
}

void
sr_attack_fit_put(SrAttackFit* const h, const float* const magnitudes)
{
  memcpy(kept(h, h->count++), magnitudes, h->grid.padded * sizeof(float));
}

SR_HOT static float
total_of(const float* const magnitudes, const size_t padded)
{
  return sr_vector_total(magnitudes, padded);
}

/// Amount of the rising reed in a solved frame.
static float
own_amount(const SrActivationFrame* const frame, const SrRows* const rows)
{
  float sum = 0.0f;
  for (size_t j = 0; j < SR_PARTS; ++j) {
    sum += frame->amount[j];
  }
  for (size_t j = 0; j < rows->own; ++j) {
    sum += rows->share[j] * frame->amount[SR_PARTS + j];
  }
  return sum;
}

void
sr_attack_fit_rise(SrAttackFit* const h, const size_t pitch, const SrRows* const rows,
                   const size_t back, const size_t count, const size_t noticed, const int updates,
                   float* const values)
{
  size_t row[SR_ACTIVE_SIZE];
  float amount[SR_ACTIVE_SIZE] = {0.0f};
  sr_activation_split(h->activation, pitch, row);
  const size_t row_count = rows->count + SR_PARTS;
  for (size_t i = 0; i < rows->count; ++i) {
    row[i + SR_PARTS] = rows->row[i];
  }
  float most = 0.0f;
  size_t silent = 0;
  // Backwards, from where it certainly sounds
  for (size_t i = count; i-- > 0;) {
    if (silent == SILENT_FRAMES) {
      values[i] = values[i + 1];
      continue;
    }
    if (back - i >= KEPT || back - i >= h->count) {
      values[i] = 0.0f;
      continue;
    }
    const float* const magnitudes = kept(h, h->count - 1 - (back - i));
    const float total = total_of(magnitudes, h->grid.padded);
    SrActivationFrame frame = {0};
    const float first = total / (float)row_count;
    const float trace = ATTACK_FIT_TRACE * total;
    if (i + 1 == count) {
      // The result must not depend on earlier measurements
      sr_activation_forget(h->activation, FIRST_NOISE * total);
    }
    for (size_t j = 0; j < row_count; ++j) {
      amount[j] = i + 1 == count ? first : sr_larger(amount[j], trace);
    }
    sr_activation_hold(h->activation, row, amount, row_count);
    for (int pass = 0; pass < (i + 1 == count ? 4 : 1); ++pass) {
      sr_activation_refine(h->activation, magnitudes, updates, &frame);
    }
    memcpy(amount, frame.amount, sizeof(amount));
    values[i] = own_amount(&frame, rows);
    most = sr_larger(values[i], most);
    silent = i < noticed && values[i] < SILENT_SHARE * most ? silent + 1 : 0;
  }
}
