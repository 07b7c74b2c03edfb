// SPDX-License-Identifier: GPL-3.0-or-later

#include "activation.h"

#include "simd.h"
#include "tuning.h"

#include <math.h>

/// Rows whose gradients are computed together, so that their sums do not wait for one another.
#define ACTIVATION_TOGETHER 4u

/// Noise templates.
#define NOISES 2u

/// Limits of a template's parts, in harmonics.
static const double PART_STARTS[SR_PARTS + 1] = {0.0, 1.5, 2.5, 4.5, 1e9};

struct SrActivationImpl {
  SrFrameGrid grid;
  size_t rows; ///< SR_PITCHES, or twice that where notes are doubled, for the upper reeds alone
  float* templates; ///< `rows` rows, and SR_PARTS more
  float* noises;    ///< NOISES rows
  float* floor;
  float* model;
  float* ratio;
  double first_harmonic_bin[SR_PITCHES]; ///< Of the lower reed where a pitch is doubled
  float entry[2 * SR_PITCHES];           ///< Gradient from which a row is added
  size_t count;
  size_t pitch[SR_ACTIVE_SIZE];
  float amount[SR_ACTIVE_SIZE];
  float noise[NOISES];
  float misfit;               ///< Of the last frame in which reeds could be added
  size_t part_from[SR_PARTS]; ///< First vector of each part of the split template that is not 0
  size_t part_to[SR_PARTS];   ///< Behind its last one
};

static void
set_entries(SrActivation* const a, const SrProfile* const profile, const SrExpected* const expected)
{
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    const bool learnt = profile->reeds[p].learnt;
    const bool written = expected && expected->any && expected->expected[p + SR_LOWEST_MIDI];
    a->entry[p] = written ? 1.10f : learnt ? 1.20f : (expected && expected->any) ? 1.6f : 1.35f;
    a->entry[SR_PITCHES + p] = profile->reeds[p].doubled ? UPPER_ENTRY : INFINITY;
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
  a->rows = profile->doubled ? 2 * SR_PITCHES : SR_PITCHES;
  a->templates = sr_vector_new((a->rows + SR_PARTS) * grid->padded);
  a->noises = sr_vector_new(NOISES * grid->padded);
  a->floor = sr_vector_new(grid->padded);
  a->model = sr_vector_new(grid->padded);
  a->ratio = sr_vector_new(grid->padded);
  if (!a->templates || !a->noises || !a->floor || !a->model || !a->ratio) {
    sr_activation_del(a);
    return NULL;
  }
  sr_profile_templates(profile, grid, a->templates);
  for (size_t row = SR_PITCHES; row < a->rows; ++row) {
    if (profile->reeds[row - SR_PITCHES].doubled) {
      sr_profile_upper_template(profile, grid, row - SR_PITCHES, a->templates + row * grid->padded);
    }
  }
  sr_profile_floor(profile, grid, a->floor);
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    const double hz = sr_profile_frequency_hz(profile, p) * (profile->reeds[p].doubled ? 0.5 : 1.0);
    a->first_harmonic_bin[p] = hz / grid->bin_hz;
  }
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

/// All rows of a frame, noise first, in one struct for the hot loops.
typedef struct {
  const SrVector* row[NOISES + SR_ACTIVE_SIZE];
  float amount[NOISES + SR_ACTIVE_SIZE];
  size_t count;
} Active;

SR_PART Active
active_of(const SrActivation* const a)
{
  Active active = {.count = NOISES + a->count};
  for (size_t n = 0; n < NOISES; ++n) {
    active.row[n] = (const SrVector*)(const void*)(a->noises + n * a->grid.padded);
    active.amount[n] = a->noise[n];
  }
  for (size_t j = 0; j < a->count; ++j) {
    active.row[NOISES + j] = (const SrVector*)(const void*)sr_activation_template(a, a->pitch[j]);
    active.amount[NOISES + j] = a->amount[j];
  }
  return active;
}

/// ratio = magnitudes / (floor + sum of templates times activations)
SR_PART void
divide(SrActivation* const a, const float* const magnitudes)
{
  const Active active = active_of(a);
  const SrVector* const v = (const SrVector*)(const void*)magnitudes;
  const SrVector* const floor = (const SrVector*)(const void*)a->floor;
  SrVector* const model = (SrVector*)(void*)a->model;
  SrVector* const ratio = (SrVector*)(void*)a->ratio;
  for (size_t i = 0; i < a->grid.padded / SR_VECTOR_SIZE; ++i) {
    SrVector sum = floor[i];
    for (size_t j = 0; j < active.count; ++j) {
      sum += active.row[j][i] * SR_VECTOR_OF(active.amount[j]);
    }
    model[i] = sum;
    ratio[i] = v[i] / sum;
  }
}

/// The gradients of `count` rows, in one pass over the frame. `count` is a constant after inlining,
/// so every sum has its own register.
SR_PART void
gradients_of(const Active* const active, const size_t count, const SrVector* const floor,
             const SrVector* const v, const size_t vectors, float* const gradients)
{
  SrVector dots[NOISES + SR_ACTIVE_SIZE] = {{0}};
  for (size_t i = 0; i < vectors; ++i) {
    SrVector sum = floor[i];
#pragma GCC unroll 12
    for (size_t j = 0; j < count; ++j) {
      sum += active->row[j][i] * SR_VECTOR_OF(active->amount[j]);
    }
    const SrVector ratio = v[i] / sum;
#pragma GCC unroll 12
    for (size_t j = 0; j < count; ++j) {
      dots[j] += active->row[j][i] * ratio;
    }
  }
  for (size_t j = 0; j < count; ++j) {
    gradients[j] = sr_vector_sum(&dots[j]);
  }
}

/// gradients_of() where the first reeds are the parts of a split template. Each is 0 outside its
/// own bins, so the result is the same.
SR_PART void
parted_gradients_of(const Active* const active, const size_t count, const size_t* const part_from,
                    const size_t* const part_to, const SrVector* const floor,
                    const SrVector* const v, const size_t vectors, float* const gradients)
{
  const size_t others = NOISES + SR_PARTS;
  SrVector dots[NOISES + SR_ACTIVE_SIZE] = {{0}};
  size_t part = 0;
  for (size_t i = 0; i < vectors; ++i) {
    SrVector sum = floor[i];
#pragma GCC unroll 2
    for (size_t j = 0; j < NOISES; ++j) {
      sum += active->row[j][i] * SR_VECTOR_OF(active->amount[j]);
    }
    while (part < SR_PARTS && part_to[part] <= i) {
      ++part;
    }
    size_t end = part;
    for (; end < SR_PARTS && part_from[end] <= i; ++end) {
      sum += active->row[NOISES + end][i] * SR_VECTOR_OF(active->amount[NOISES + end]);
    }
#pragma GCC unroll 12
    for (size_t j = others; j < count; ++j) {
      sum += active->row[j][i] * SR_VECTOR_OF(active->amount[j]);
    }
    const SrVector ratio = v[i] / sum;
#pragma GCC unroll 2
    for (size_t j = 0; j < NOISES; ++j) {
      dots[j] += active->row[j][i] * ratio;
    }
    for (size_t p = part; p < end; ++p) {
      dots[NOISES + p] += active->row[NOISES + p][i] * ratio;
    }
#pragma GCC unroll 12
    for (size_t j = others; j < count; ++j) {
      dots[j] += active->row[j][i] * ratio;
    }
  }
  for (size_t j = 0; j < count; ++j) {
    gradients[j] = sr_vector_sum(&dots[j]);
  }
}

#define GRADIENTS_OF(n)                                                                            \
  case n:                                                                                          \
    gradients_of(active, n, floor, v, vectors, gradients);                                         \
    break

/// Added to the number of rows if the first reeds are parts.
#define PARTED 100u

#define PARTED_GRADIENTS_OF(n)                                                                     \
  case PARTED + (n):                                                                               \
    parted_gradients_of(active, n, a->part_from, a->part_to, floor, v, vectors, gradients);        \
    break

/// Update the activations of the active reeds `updates` times.
static SR_HOT void
update(SrActivation* const a, const float* const magnitudes, const int updates)
{
  const size_t vectors = a->grid.padded / SR_VECTOR_SIZE;
  const SrVector* const v = (const SrVector*)(const void*)magnitudes;
  const SrVector* const floor = (const SrVector*)(const void*)a->floor;
  Active now = active_of(a);
  Active* const active = &now;
  const bool parted = a->count >= SR_PARTS && a->pitch[0] == a->rows;
  for (int i = 0; i < updates; ++i) {
    float gradients[NOISES + SR_ACTIVE_SIZE];
    switch (now.count + (parted ? PARTED : 0)) {
      PARTED_GRADIENTS_OF(6);
      PARTED_GRADIENTS_OF(7);
      PARTED_GRADIENTS_OF(8);
      PARTED_GRADIENTS_OF(9);
      PARTED_GRADIENTS_OF(10);
      PARTED_GRADIENTS_OF(11);
      PARTED_GRADIENTS_OF(12);
      GRADIENTS_OF(2);
      GRADIENTS_OF(3);
      GRADIENTS_OF(4);
      GRADIENTS_OF(5);
      GRADIENTS_OF(6);
      GRADIENTS_OF(7);
      GRADIENTS_OF(8);
      GRADIENTS_OF(9);
      GRADIENTS_OF(10);
      GRADIENTS_OF(11);
    default:
      gradients_of(active, NOISES + SR_ACTIVE_SIZE, floor, v, vectors, gradients);
    }
    for (size_t j = 0; j < now.count; ++j) {
      now.amount[j] *= gradients[j] * sqrtf(gradients[j]);
    }
  }
  memcpy(a->noise, now.amount, sizeof(a->noise));
  memcpy(a->amount, now.amount + NOISES, a->count * sizeof(*a->amount));
}

/// The second derivative of the divergence with respect to one reed's activation.
SR_PART float
curvature(const SrActivation* const a, const float* const template_row)
{
  const SrVector* const row = (const SrVector*)(const void*)template_row;
  const SrVector* const ratio = (const SrVector*)(const void*)a->ratio;
  const SrVector* const model = (const SrVector*)(const void*)a->model;
  SrVector sum = {0};
  for (size_t i = 0; i < a->grid.padded / SR_VECTOR_SIZE; ++i) {
    sum += row[i] * row[i] * ratio[i] / model[i];
  }
  return sr_vector_sum(&sum);
}

SR_PART bool
is_active(const SrActivation* const a, const size_t pitch)
{
  for (size_t j = 0; j < a->count; ++j) {
    if (a->pitch[j] == pitch) {
      return true;
    }
  }
  return false;
}

/// The gradients of rows `first` and on, up to ACTIVATION_TOGETHER of them.
SR_PART void
next_gradients(const SrActivation* const a, const size_t first, float* const gradients)
{
  const SrVector* const ratio = (const SrVector*)(const void*)a->ratio;
  const SrVector* row[ACTIVATION_TOGETHER];
  SrVector sum[ACTIVATION_TOGETHER] = {{0}};
  for (size_t i = 0; i < ACTIVATION_TOGETHER; ++i) {
    const size_t p = first + i < a->rows ? first + i : a->rows - 1;
    row[i] = (const SrVector*)(const void*)sr_activation_template(a, p);
  }
  for (size_t n = 0; n < a->grid.padded / SR_VECTOR_SIZE; ++n) {
    for (size_t i = 0; i < ACTIVATION_TOGETHER; ++i) {
      sum[i] += row[i][n] * ratio[n];
    }
  }
  for (size_t i = 0; i < ACTIVATION_TOGETHER; ++i) {
    gradients[i] = sr_vector_sum(&sum[i]);
  }
}

/// Add the reed for which a Newton step gains most, if its gradient is large enough.
SR_PART bool
let_in(SrActivation* const a, const float least)
{
  size_t best = a->rows;
  float most = 0.0f;
  float amount = 0.0f;
  float gradients[ACTIVATION_TOGETHER];
  for (size_t p = 0; p < a->rows; ++p) {
    if (p % ACTIVATION_TOGETHER == 0) {
      next_gradients(a, p, gradients);
    }
    const float gradient = gradients[p % ACTIVATION_TOGETHER];
    if (gradient > a->entry[p] && !is_active(a, p)) {
      const float step = (gradient - 1.0f) / curvature(a, sr_activation_template(a, p));
      const float gain = step * (gradient - 1.0f) / a->entry[p];
      if (step > least && gain > most) {
        most = gain;
        best = p;
        amount = step;
      }
    }
  }
  if (best == a->rows) {
    return false;
  }
  size_t place = a->count;
  if (a->count == SR_ACTIVE_SIZE) {
    place = 0;
    for (size_t j = 1; j < a->count; ++j) {
      place = a->amount[j] < a->amount[place] ? j : place;
    }
  } else {
    ++a->count;
  }
  a->pitch[place] = best;
  a->amount[place] = amount;
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

/// Squared differences over sums, a cheap substitute for the divergence, relative to the frame's
/// sum.
SR_PART float
misfit_of(const SrActivation* const a, const float* const magnitudes, const float total)
{
  const SrVector* const v = (const SrVector*)(const void*)magnitudes;
  const SrVector* const model = (const SrVector*)(const void*)a->model;
  SrVector sum = {0};
  for (size_t i = 0; i < a->grid.padded / SR_VECTOR_SIZE; ++i) {
    const SrVector difference = v[i] - model[i];
    sum += difference * difference / (v[i] + model[i]);
  }
  return total > 0.0f ? sr_vector_sum(&sum) / total : 0.0f;
}

/// Start a frame; noise that fell to nothing must be able to grow again.
SR_PART float
open_frame(SrActivation* const a, const float* const magnitudes, SrActivationFrame* const frame)
{
  frame->total = sr_vector_total(magnitudes, a->grid.padded);
  const float least = ACTIVATION_LEAST_SHARE * frame->total + 1e-9f;
  for (size_t n = 0; n < NOISES; ++n) {
    a->noise[n] = fmaxf(a->noise[n], 0.1f * least);
  }
  return least;
}

static void
close_frame(const SrActivation* const a, SrActivationFrame* const frame)
{
  frame->count = a->count;
  memcpy(frame->pitch, a->pitch, sizeof(frame->pitch));
  memcpy(frame->amount, a->amount, sizeof(frame->amount));
  memcpy(frame->noise, a->noise, sizeof(frame->noise));
  frame->misfit = a->misfit;
}

SR_HOT static void
solve_frame(SrActivation* const a, const float* const magnitudes, SrActivationFrame* const frame)
{
  const float least = open_frame(a, magnitudes, frame);
  update(a, magnitudes, FIRST_UPDATES);
  divide(a, magnitudes);
  for (int i = 0; i < MOST_NEW && let_in(a, 3.0f * least); ++i) {
    update(a, magnitudes, MORE_UPDATES);
    divide(a, magnitudes);
  }
  drop_silent(a, least);
  a->misfit = misfit_of(a, magnitudes, frame->total);
  close_frame(a, frame);
}

// The version for this processor is chosen behind this, so that its symbol stays hidden
void
sr_activation_do(SrActivation* const a, const float* const magnitudes,
                 SrActivationFrame* const frame)
{
  solve_frame(a, magnitudes, frame);
}

void
sr_activation_restart(SrActivation* const a, const SrActivationFrame* const frame,
                      const SrActivationFrame* const later)
{
  memcpy(a->noise, frame->noise, sizeof(a->noise));
  a->count = later->count;
  for (size_t i = 0; i < later->count; ++i) {
    a->pitch[i] = later->pitch[i];
    a->amount[i] = ACTIVATION_TRACE * later->amount[i];
  }
  for (size_t i = 0; i < frame->count; ++i) {
    size_t j = 0;
    while (j < a->count && a->pitch[j] != frame->pitch[i]) {
      ++j;
    }
    if (j < a->count) {
      a->amount[j] = fmaxf(a->amount[j], frame->amount[i]);
    } else if (frame->amount[i] > ACTIVATION_LEAST_SHARE * frame->total &&
               a->count < SR_ACTIVE_SIZE) {
      a->pitch[a->count] = frame->pitch[i];
      a->amount[a->count++] = frame->amount[i];
    }
  }
}

SR_HOT static void
refine_frame(SrActivation* const a, const float* const magnitudes, const int updates,
             SrActivationFrame* const frame)
{
  open_frame(a, magnitudes, frame);
  update(a, magnitudes, updates);
  close_frame(a, frame);
}

// The version for this processor is chosen behind this, so that its symbol stays hidden
void
sr_activation_refine(SrActivation* const a, const float* const magnitudes, const int updates,
                     SrActivationFrame* const frame)
{
  refine_frame(a, magnitudes, updates, frame);
}

void
sr_activation_split(SrActivation* const a, const size_t pitch, size_t rows[SR_PARTS])
{
  const float* const whole = sr_activation_template(a, pitch);
  for (size_t part = 0; part < SR_PARTS; ++part) {
    rows[part] = a->rows + part;
    float* const row = a->templates + rows[part] * a->grid.padded;
    float sum = 0.0f;
    for (size_t b = 0; b < a->grid.bins; ++b) {
      const double harmonic =
          ((double)b + (double)a->grid.first_bin) / a->first_harmonic_bin[pitch];
      const bool mine = harmonic >= PART_STARTS[part] && harmonic < PART_STARTS[part + 1];
      row[b] = mine ? whole[b] : 0.0f;
      sum += row[b];
    }
    size_t from = a->grid.bins;
    size_t to = 0;
    for (size_t b = 0; b < a->grid.bins && sum > 0.0f; ++b) {
      if (row[b] > 0.0f) {
        row[b] /= sum;
        from = b < from ? b : from;
        to = b + 1;
      }
    }
    a->part_from[part] = from / SR_VECTOR_SIZE;
    a->part_to[part] = sr_vector_padded(to) / SR_VECTOR_SIZE;
  }
}

void
sr_activation_forget(SrActivation* const a, const float noise)
{
  for (size_t n = 0; n < NOISES; ++n) {
    a->noise[n] = noise;
  }
}

void
sr_activation_hold(SrActivation* const a, const size_t* const rows, const float* const amounts,
                   const size_t count)
{
  a->count = count;
  memcpy(a->pitch, rows, count * sizeof(*rows));
  memcpy(a->amount, amounts, count * sizeof(*amounts));
}
