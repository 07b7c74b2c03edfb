// SPDX-License-Identifier: GPL-3.0-or-later

#include "profile.h"

#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

SrProfile*
sr_profile_new(const double reference_hz)
{
  SrProfile* const profile = (SrProfile*)calloc(1, sizeof(SrProfile));
  if (profile) {
    profile->reference_hz = reference_hz;
    for (size_t i = 0; i < SR_FLOOR_POINTS; ++i) {
      profile->floor[i] = 3e-5f;
    }
    // A dry room: 3 dB at first, then 1 dB per frame, down to 40
    for (size_t i = 0; i < SR_TAIL_FRAMES; ++i) {
      profile->tail_db[i] = fmin(40.0, 3.0 + (double)i);
    }
    sr_profile_fill(profile);
  }
  return profile;
}

SrProfile*
sr_profile_copy(const SrProfile* const profile)
{
  SrProfile* const copy = (SrProfile*)malloc(sizeof(SrProfile));
  if (copy) {
    *copy = *profile;
  }
  return copy;
}

void
sr_profile_del(SrProfile* const profile)
{
  free(profile);
}

SrReading
sr_profile_reading(const SrProfile* const profile)
{
  return profile->doubled       ? SR_READ_DOUBLED
         : profile->accompanied ? SR_READ_ACCOMPANIED
                                : SR_READ_SINGLE;
}

double
sr_profile_reference_hz(const SrProfile* const profile)
{
  return profile->reference_hz;
}

bool
sr_profile_reed(const SrProfile* const profile, const int midi, double* const cents)
{
  if (midi < SR_LOWEST_MIDI || midi > SR_HIGHEST_MIDI) {
    return false;
  }
  const SrReed* const reed = &profile->reeds[midi - SR_LOWEST_MIDI];
  if (cents) {
    *cents = (double)reed->cents;
  }
  return reed->learnt;
}

double
sr_profile_frequency_hz(const SrProfile* const profile, const size_t pitch)
{
  const double midi = SR_LOWEST_MIDI + (double)pitch + (double)profile->reeds[pitch].cents / 100.0;
  return profile->reference_hz * exp2((midi - 69.0) / 12.0);
}

/// The average free reed: a sawtooth-like spectrum that falls off above its eighth harmonic (common
/// practice, no source).
static void
average_reed(SrReed* const reed)
{
  float sum = 0.0f;
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    const float number = (float)(k + 1);
    reed->amplitude[k] = 1.0f / (number * (1.0f + (number / 12.0f) * (number / 12.0f)));
    sum += reed->amplitude[k];
  }
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    reed->amplitude[k] /= sum;
  }
}

/// Whether a reed's spectral envelope may stand in for a neighbour's.
static bool
is_single(const SrReed* const reed)
{
  return reed->learnt && !reed->doubled;
}

void
sr_profile_fill(SrProfile* const profile)
{
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    SrReed* const reed = &profile->reeds[p];
    if (reed->learnt) {
      continue;
    }
    const SrReed* nearest = NULL;
    for (size_t distance = 1; distance < SR_PITCHES && !nearest; ++distance) {
      if (p >= distance && is_single(&profile->reeds[p - distance])) {
        nearest = &profile->reeds[p - distance];
      } else if (p + distance < SR_PITCHES && is_single(&profile->reeds[p + distance])) {
        nearest = &profile->reeds[p + distance];
      }
    }
    reed->cents = 0.0f;
    reed->doubled = false;
    if (nearest) {
      memcpy(reed->amplitude, nearest->amplitude, sizeof(reed->amplitude));
    } else {
      average_reed(reed);
    }
  }
}

/// The magnitudes of a frame with harmonics of `f0` only, their sum 1.
static void
write_template(const SrFrameGrid* const grid, const double f0, const float* const amplitudes,
               float* const row)
{
  const double seconds = (double)grid->window / grid->rate_hz;
  // Harmonics of low notes overlap with unknown phases: on average their powers add
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    const double frequency = f0 * (double)(k + 1);
    const double amplitude = (double)amplitudes[k];
    const double place = frequency / grid->bin_hz - (double)grid->first_bin;
    for (long b = lround(place) - 3; b <= lround(place) + 3; ++b) {
      if (b >= 0 && b < (long)grid->bins) {
        const double hz = ((double)b - place) * grid->bin_hz;
        const double magnitude = amplitude * sr_frame_lobe(hz, seconds);
        row[b] += (float)(magnitude * magnitude);
      }
    }
  }
  float sum = 0.0f;
  for (size_t b = 0; b < grid->bins; ++b) {
    row[b] = sqrtf(row[b]);
    sum += row[b];
  }
  for (size_t b = 0; b < grid->bins && sum > 0.0f; ++b) {
    row[b] /= sum;
  }
}

void
sr_profile_templates(const SrProfile* const profile, const SrFrameGrid* const grid,
                     float* const templates)
{
  memset(templates, 0, SR_PITCHES * grid->padded * sizeof(float));
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    const SrReed* const reed = &profile->reeds[p];
    const double f0 = sr_profile_frequency_hz(profile, p) * (reed->doubled ? 0.5 : 1.0);
    write_template(grid, f0, reed->amplitude, templates + p * grid->padded);
  }
}

void
sr_profile_upper_template(const SrProfile* const profile, const SrFrameGrid* const grid,
                          const size_t pitch, float* const row)
{
  const float* const pair = profile->reeds[pitch].amplitude;
  float amplitude[SR_HARMONICS] = {0};
  for (size_t h = 1; 2 * h < SR_HARMONICS; ++h) {
    // The excess of the pair's even harmonic over the geometric mean of the neighbouring odd ones
    const float both = pair[2 * h - 1];
    const float lower = sqrtf(pair[2 * h - 2] * pair[2 * h]);
    amplitude[h - 1] = sqrtf(fmaxf(0.04f * both * both, both * both - lower * lower));
  }
  memset(row, 0, grid->padded * sizeof(float));
  write_template(grid, sr_profile_frequency_hz(profile, pitch), amplitude, row);
}

void
sr_profile_floor(const SrProfile* const profile, const SrFrameGrid* const grid, float* const floor)
{
  for (size_t b = 0; b < grid->padded; ++b) {
    const double place = (double)(grid->first_bin + b) * grid->bin_hz / SR_FLOOR_STEP_HZ;
    size_t below = (size_t)place;
    if (below > SR_FLOOR_POINTS - 2) {
      below = SR_FLOOR_POINTS - 2;
    }
    const float part = (float)fmin(place - (double)below, 1.0);
    const float value =
        profile->floor[below] + part * (profile->floor[below + 1] - profile->floor[below]);
    floor[b] = value > LEAST_FLOOR ? value : LEAST_FLOOR;
  }
}

/// Mean difference of the reeds that both have learnt, cents; if there are none, that of the
/// references, which few reeds determine poorly.
static double
reeds_apart(const SrProfile* const profile, const SrProfile* const earlier, const double apart)
{
  double weight = 0.0;
  double sum = 0.0;
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    const SrReed* const own = &profile->reeds[p];
    const SrReed* const was = &earlier->reeds[p];
    if (own->learnt && was->learnt) {
      weight += (double)own->weight;
      sum += (double)own->weight * (apart + (double)was->cents - (double)own->cents);
    }
  }
  return weight > 0.0 ? sum / weight : apart;
}

void
sr_profile_complete(SrProfile* const profile, const SrProfile* const earlier)
{
  const double apart = 1200.0 * log2(earlier->reference_hz / profile->reference_hz);
  if (fabs(reeds_apart(profile, earlier, apart)) > SAME_INSTRUMENT_CENTS ||
      earlier->doubled != profile->doubled) {
    return;
  }
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    const SrReed* const own = &profile->reeds[p];
    const bool weak = !own->learnt || own->weight < fminf(earlier->reeds[p].weight, SURE_WEIGHT_S);
    if (weak && earlier->reeds[p].learnt) {
      profile->reeds[p] = earlier->reeds[p];
      profile->reeds[p].cents += (float)apart;
    }
  }
}
