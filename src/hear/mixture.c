// SPDX-License-Identifier: GPL-3.0-or-later

#include "mixture.h"

#include "activation.h"
#include "harmonic.h"
#include "simd.h"
#include "tuning.h"

#include <math.h>

struct SrMixtureImpl {
  SrFrameGrid grid;
  float* spectra; ///< `count` rows of grid.padded
  size_t count;
  uint64_t every; ///< Windows from one kept to the next
};

SrMixture*
sr_mixture_new(const double rate_hz, const size_t window)
{
  SrMixture* const m = (SrMixture*)calloc(1, sizeof(SrMixture));
  if (!m) {
    return NULL;
  }
  m->every = 1;
  m->grid.rate_hz = rate_hz;
  m->grid.window = window;
  m->grid.bin_hz = rate_hz / (double)window;
  m->grid.first_bin = (size_t)ceil(LOWEST_HZ / m->grid.bin_hz);
  m->grid.bins = (size_t)floor(SR_FRAME_HIGH_HZ / m->grid.bin_hz) - m->grid.first_bin + 1;
  m->grid.padded = sr_vector_padded(m->grid.bins);
  m->spectra = sr_vector_new(MOST_SPECTRA * m->grid.padded);
  if (!m->spectra) {
    free(m);
    return NULL;
  }
  return m;
}

void
sr_mixture_del(SrMixture* const m)
{
  if (m) {
    free(m->spectra);
    free(m);
  }
}

void
sr_mixture_put(SrMixture* const m, const uint64_t index, const float* const magnitudes)
{
  if (index % m->every != 0) {
    return;
  }
  const size_t size = m->grid.padded;
  if (m->count == MOST_SPECTRA) {
    for (size_t i = 0; i < MOST_SPECTRA / 2; ++i) {
      memcpy(m->spectra + i * size, m->spectra + 2 * i * size, size * sizeof(float));
    }
    m->count = MOST_SPECTRA / 2;
    m->every *= 2;
  }
  memcpy(m->spectra + m->count * size, magnitudes + m->grid.first_bin,
         m->grid.bins * sizeof(float));
  ++m->count;
}

/// Statistics of a reed over all windows.
typedef struct {
  double windows;
  double own[SR_HARMONICS];      ///< What it explains around each harmonic
  double reported[SR_HARMONICS]; ///< Its part of the spectrum there
  double cents;
  double cents_weight;
} Gathered;

/// The model in a bin.
static float
model_at(const SrActivation* const a, const SrActivationFrame* const frame, const size_t bin,
         const float rest)
{
  float sum = rest;
  for (size_t j = 0; j < frame->count; ++j) {
    sum += frame->amount[j] * sr_activation_template(a, frame->pitch[j])[bin];
  }
  return sum;
}

/// Offset of a peak from a bin, in bins; Gaussian interpolation.
static double
peak_offset(const float* const v, const size_t bin)
{
  const double l = log((double)v[bin - 1] + 1e-9);
  const double c = log((double)v[bin] + 1e-9);
  const double r = log((double)v[bin + 1] + 1e-9);
  const double bend = l - 2.0 * c + r;
  return bend < 0.0 ? 0.5 * (l - r) / bend : 0.0;
}

static void
gather(Gathered* const g, const SrProfile* const profile, const SrFrameGrid* const grid,
       const SrActivation* const a, const SrActivationFrame* const frame, const size_t j,
       const float* const v, const float rest)
{
  const size_t p = frame->pitch[j];
  const float* const row = sr_activation_template(a, p);
  const double f0 = sr_profile_frequency_hz(profile, p);
  g->windows += 1.0;
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    const double place = f0 * (double)(k + 1) / grid->bin_hz - (double)grid->first_bin;
    const long middle = lround(place);
    if (middle < 2 || middle + 2 >= (long)grid->bins) {
      continue;
    }
    for (long b = middle - 1; b <= middle + 1; ++b) {
      // The more other reeds are present, the lower the weight
      const float own = frame->amount[j] * row[b];
      const float share = own / model_at(a, frame, (size_t)b, rest);
      g->own[k] += (double)(own * share * share);
      g->reported[k] += (double)(v[b] * share * share * share);
    }
    const float own = frame->amount[j] * row[middle];
    if (k < MIXTURE_MEASURED && own > OWN_SHARE * model_at(a, frame, (size_t)middle, rest)) {
      const double off = (double)middle + peak_offset(v, (size_t)middle) - place;
      const double cents = 1200.0 * log2(1.0 + off / (place + (double)grid->first_bin));
      const double weight = (double)(own * (float)(k + 1));
      if (fabs(cents) < 2.0 * MIXTURE_MOST_CENTS) {
        g->cents += weight * cents;
        g->cents_weight += weight;
      }
    }
  }
}

/// Update a reed from its statistics.
static void
better(SrReed* const reed, const Gathered* const g)
{
  float sum = 0.0f;
  float free[SR_HARMONICS];
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    free[k] = reed->amplitude[k] * (g->own[k] > 0.0 ? (float)(g->reported[k] / g->own[k]) : 1.0f);
  }
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    const bool between = k > 0 && k + 1 < SR_HARMONICS;
    const float most = between ? MOST_OVER * sqrtf(free[k - 1] * free[k + 1]) : free[k];
    reed->amplitude[k] = fminf(free[k], most);
    sum += reed->amplitude[k];
  }
  for (size_t k = 0; k < SR_HARMONICS && sum > 0.0f; ++k) {
    reed->amplitude[k] /= sum;
  }
  if (g->cents_weight > 0.0) {
    reed->cents +=
        (float)fmax(-MIXTURE_MOST_CENTS, fmin(MIXTURE_MOST_CENTS, g->cents / g->cents_weight));
  }
}

/// Solve a window without reeds that may be only harmonics of a louder one.
static void
solve(SrActivation* const a, const float* const v, SrActivationFrame* const frame)
{
  size_t rows[SR_ACTIVE_SIZE] = {0};
  float amounts[SR_ACTIVE_SIZE] = {0.0f};
  // Independent of the previous window
  sr_activation_hold(a, rows, amounts, 0);
  sr_activation_do(a, v, frame);
  sr_activation_do(a, v, frame);
  size_t kept = 0;
  for (size_t j = 0; j < frame->count; ++j) {
    bool own = true;
    for (size_t i = 0; i < frame->count; ++i) {
      own = own && !(sr_is_harmonic(frame->pitch[i], frame->pitch[j]) &&
                     SHADOW_SHARE * frame->amount[i] > frame->amount[j]);
    }
    if (own) {
      rows[kept] = frame->pitch[j];
      amounts[kept++] = frame->amount[j];
    }
  }
  sr_activation_hold(a, rows, amounts, kept);
  sr_activation_refine(a, v, UPDATES, frame);
}

/// One pass over all windows.
static SrStatus
pass(const SrMixture* const m, const SrProfile* const profile, Gathered* const gathered)
{
  const SrFrameGrid* const grid = &m->grid;
  // Written pitches are no likelier than those below them
  SrActivation* const a = sr_activation_new(profile, grid, NULL);
  if (!a) {
    return SR_NO_MEMORY;
  }
  memset(gathered, 0, SR_PITCHES * sizeof(Gathered));
  float loudest = 0.0f;
  for (size_t w = 0; w < m->count; ++w) {
    loudest = fmaxf(loudest, sr_vector_total(m->spectra + w * grid->padded, grid->padded));
  }
  for (size_t w = 0; w < m->count; ++w) {
    const float* const v = m->spectra + w * grid->padded;
    if (sr_vector_total(v, grid->padded) < MIXTURE_LOUD_SHARE * loudest) {
      continue;
    }
    SrActivationFrame frame;
    solve(a, v, &frame);
    const float rest = (frame.noise[0] + 1e-6f) / (float)grid->bins;
    for (size_t j = 0; j < frame.count; ++j) {
      if (frame.pitch[j] < SR_PITCHES && frame.amount[j] > MIXTURE_LEAST_SHARE * frame.total) {
        gather(&gathered[frame.pitch[j]], profile, grid, a, &frame, j, v, rest);
      }
    }
  }
  sr_activation_del(a);
  return SR_OK;
}

SrStatus
sr_mixture_learn(const SrMixture* const m, const SrExpected* const expected,
                 SrProfile* const profile)
{
  Gathered* const gathered = (Gathered*)calloc(SR_PITCHES, sizeof(Gathered));
  bool* const alone = (bool*)calloc(SR_PITCHES, sizeof(bool));
  SrStatus status = gathered && alone ? SR_OK : SR_NO_MEMORY;
  for (size_t p = 0; p < SR_PITCHES && status == SR_OK; ++p) {
    // A note of the phrase that was heard alone is known; what was learnt as an unwritten reed may
    // have been two
    alone[p] = profile->reeds[p].learnt && expected->expected[p + SR_LOWEST_MIDI];
    profile->reeds[p].learnt = alone[p];
  }
  sr_profile_fill(profile);
  for (int i = 0; i < PASSES && status == SR_OK; ++i) {
    status = pass(m, profile, gathered);
    for (size_t p = 0; p < SR_PITCHES && status == SR_OK; ++p) {
      SrReed* const reed = &profile->reeds[p];
      if (alone[p]) {
        continue;
      }
      reed->learnt = gathered[p].windows >= MIXTURE_LEAST_WINDOWS;
      reed->weight = (float)(gathered[p].windows * (double)m->grid.window / m->grid.rate_hz);
      if (reed->learnt) {
        better(reed, &gathered[p]);
      }
    }
    sr_profile_fill(profile);
  }
  free(alone);
  free(gathered);
  return status;
}
