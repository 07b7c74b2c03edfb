// SPDX-License-Identifier: GPL-3.0-or-later

#include "own_noise.h"

#include "larger.h"
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
  bool known;               ///< Whether `quantile` is that of the counts
  float quantile[SR_BANDS]; ///< The level below which QUANTILE of the windows lie, dB
} Levels;

struct SrOwnNoiseImpl {
  float usual_db[SR_BANDS];
  Levels all;
  Levels reeds[SR_PITCHES];
  size_t last_pitch;
  double last_s;
};

// NOLINTBEGIN(clang-analyzer-core.UndefinedBinaryOperatorResult): i and j never pass the pivot
/// The value that would be at `place` if they were sorted; moves them. Hoare's selection.
static float
value_at(float* const values, const size_t count, const size_t place)
{
  const int at = (int)place;
  int first = 0;
  int last = (int)count - 1;
  while (first < last) {
    const float pivot = values[at];
    int i = first;
    int j = last;
    while (i <= j) {
      while (values[i] < pivot) {
        ++i;
      }
      while (pivot < values[j]) {
        --j;
      }
      if (i <= j) {
        const float moved = values[i];
        values[i++] = values[j];
        values[j--] = moved;
      }
    }
    first = j < at ? i : first;
    last = at < i ? j : last;
  }
  return values[at];
}
// NOLINTEND(clang-analyzer-core.UndefinedBinaryOperatorResult)

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
  if (floor->count < (notes ? LEAST_NOTE_WINDOWS : OWN_NOISE_LEAST_WINDOWS)) {
    return NULL;
  }
  if (floor->measured == floor->count) {
    return floor->floor;
  }
  const float over = power_of(notes ? OVER_NOTES_DB : OVER_QUANTILE_DB);
  const size_t kept = floor->count < SR_FLOOR_WINDOWS ? floor->count : SR_FLOOR_WINDOWS;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    float values[SR_FLOOR_WINDOWS];
    for (size_t i = 0; i < kept; ++i) {
      values[i] = floor->noise[i][b];
    }
    floor->floor[b] = over * value_at(values, kept, (size_t)(quantile * (float)kept));
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
better_known(const float before_db, Levels* const levels, const size_t band)
{
  if (!levels->known) {
    for (size_t b = 0; b < SR_BANDS; ++b) {
      levels->quantile[b] = quantile_db(levels, b, QUANTILE);
    }
    levels->known = true;
  }
  if (levels->windows[band] == 0) {
    return before_db;
  }
  const float trust = levels->notes / (levels->notes + KNOWN);
  const float db = levels->quantile[band] + OVER_QUANTILE_DB;
  return before_db + trust * (db - before_db);
}

void
sr_own_noise_expect(SrOwnNoise* const own, const size_t pitch, const double power,
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
  const float over = sr_larger(db - (float)LOWEST_DB, 0.0f);
  const float step = sr_smaller(over, (float)(OWN_NOISE_STEPS - 1));
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
  own->all.known = false;
  own->reeds[pitch].known = false;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    const float rest = sr_larger(noise[b] - (floor ? floor[b] : 0.0f), 0.0f);
    const float db = 10.0f * log10f(rest / (float)power + 1e-14f);
    count_level(&own->all, b, db);
    count_level(&own->reeds[pitch], b, db);
  }
}
