// SPDX-License-Identifier: GPL-3.0-or-later

#include "own_noise.h"

#include "tuning.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// Histogram of the levels in each band.
typedef struct {
  uint32_t counts[SR_BANDS][OWN_NOISE_STEPS];
  uint32_t windows[SR_BANDS];
  float notes;
} Levels;

struct SrOwnNoiseImpl {
  float usual_db[SR_BANDS];
  Levels all;
  Levels reeds[SR_PITCHES];
  size_t last_pitch;
  double last_s;
};

static int
by_value(const void* const a, const void* const b)
{
  const float x = *(const float*)a;
  const float y = *(const float*)b;
  return (x > y) - (x < y);
}

static float
power_of(const float db)
{
  return powf(10.0f, 0.1f * db);
}

void
sr_floor_add(SrFloor* const floor, const float* const noise)
{
  memcpy(floor->noise[floor->count++ % SR_FLOOR_WINDOWS], noise, SR_BANDS * sizeof(float));
}

const float*
sr_floor_of(SrFloor* const floor, const bool notes)
{
  const float quantile = notes ? NOTES_QUANTILE : QUANTILE;
  const float over = power_of(notes ? OVER_NOTES_DB : OVER_QUANTILE_DB);
  if (floor->count < (notes ? LEAST_NOTE_WINDOWS : OWN_NOISE_LEAST_WINDOWS)) {
    return NULL;
  }
  if (floor->measured == floor->count) {
    return floor->floor;
  }
  const size_t kept = floor->count < SR_FLOOR_WINDOWS ? floor->count : SR_FLOOR_WINDOWS;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    float sorted[SR_FLOOR_WINDOWS];
    for (size_t i = 0; i < kept; ++i) {
      sorted[i] = floor->noise[i][b];
    }
    qsort(sorted, kept, sizeof(float), by_value);
    floor->floor[b] = over * sorted[(size_t)(quantile * (float)kept)];
  }
  floor->measured = floor->count;
  return floor->floor;
}

SrOwnNoise*
sr_own_noise_new(void)
{
  SrOwnNoise* const own = (SrOwnNoise*)calloc(1, sizeof(SrOwnNoise));
  if (own) {
    for (size_t b = 0; b < SR_BANDS; ++b) {
      // White, to 24 kHz
      const double width_hz = SR_BAND_EDGES_HZ[b + 1] - SR_BAND_EDGES_HZ[b];
      own->usual_db[b] = USUAL_DB + (float)(10.0 * log10(width_hz / 24000.0));
    }
    own->last_pitch = SR_PITCHES;
  }
  return own;
}

void
sr_own_noise_del(SrOwnNoise* const own)
{
  free(own);
}

/// The level below which a share of the windows lies, dB.
static float
quantile_db(const Levels* const levels, const size_t band, const float share)
{
  const float least = share * (float)levels->windows[band];
  size_t step = 0;
  float sum = (float)levels->counts[band][0];
  while (sum <= least && step + 1 < OWN_NOISE_STEPS) {
    sum += (float)levels->counts[band][++step];
  }
  return (float)LOWEST_DB + (float)step + 0.5f;
}

bool
sr_own_noise_median(const SrOwnNoise* const own, float* const level)
{
  for (size_t b = 0; b < SR_BANDS; ++b) {
    level[b] = own->all.windows[b] > 0 ? power_of(quantile_db(&own->all, b, 0.5f)) : 0.0f;
  }
  return own->all.notes >= LEAST_NOTES;
}

/// A prior level updated by a histogram.
static float
better_known(const float before_db, const Levels* const levels, const size_t band)
{
  if (levels->windows[band] == 0) {
    return before_db;
  }
  const float trust = levels->notes / (levels->notes + KNOWN);
  const float db = quantile_db(levels, band, QUANTILE) + OVER_QUANTILE_DB;
  return before_db + trust * (db - before_db);
}

void
sr_own_noise_expect(const SrOwnNoise* const own, const size_t pitch, const double power,
                    float* const expected)
{
  for (size_t b = 0; b < SR_BANDS; ++b) {
    const float all_db = better_known(own->usual_db[b], &own->all, b);
    expected[b] = (float)power * power_of(better_known(all_db, &own->reeds[pitch], b));
  }
}

static void
count_level(Levels* const levels, const size_t band, const float db)
{
  const float step = fminf(fmaxf(db - (float)LOWEST_DB, 0.0f), (float)(OWN_NOISE_STEPS - 1));
  ++levels->counts[band][(size_t)step];
  ++levels->windows[band];
}

void
sr_own_noise_learn(SrOwnNoise* const own, const size_t pitch, const double time_s,
                   const double power, const float* const noise, const float* const floor)
{
  if (!(power > 0.0)) {
    return;
  }
  const bool other_note = pitch != own->last_pitch || time_s > own->last_s + OWN_NOISE_APART_S;
  own->all.notes += other_note ? 1.0f : 0.0f;
  own->reeds[pitch].notes += other_note ? 1.0f : 0.0f;
  own->last_pitch = pitch;
  own->last_s = time_s;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    const float rest = fmaxf(noise[b] - (floor ? floor[b] : 0.0f), 0.0f);
    const float db = 10.0f * log10f(rest / (float)power + 1e-14f);
    count_level(&own->all, b, db);
    count_level(&own->reeds[pitch], b, db);
  }
}
