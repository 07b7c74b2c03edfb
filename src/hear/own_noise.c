// SPDX-License-Identifier: GPL-3.0-or-later

#include "own_noise.h"

#include <math.h>
#include <stdlib.h>

/// A reed's own noise under its tone before anything is known, dB over all bands (measured on
/// recorded free reeds).
#define USUAL_DB (-40.0f)
/// The quantile that is learnt.
#define QUANTILE 0.4f
/// The mean of noise over that quantile of it, dB: windows differ by about 1 dB.
#define OVER_QUANTILE_DB 0.3f
/// Steps, dB: the first, divided by how many there were, and the least.
#define FIRST_STEP_DB 4.0f
#define LEAST_STEP_DB 0.35f
/// Of what may be air, so much is learnt.
#define DOUBTFUL 0.25f
/// A reed's own noise lies within this of what is usual, dB.
#define MOST_APART_DB 16.0f
/// Windows after which a reed is known by itself.
#define KNOWN 6.0f

struct SrOwnNoiseImpl {
  float floor_db[SR_BANDS];
  float floor_count;
  float all_db[SR_BANDS]; ///< Of all reeds, against the tone
  float all_count;
  float reed_db[SR_PITCHES][SR_BANDS]; ///< Of each, against that of all
  float reed_count[SR_PITCHES];
};

SrOwnNoise*
sr_own_noise_new(void)
{
  SrOwnNoise* const own = (SrOwnNoise*)calloc(1, sizeof(SrOwnNoise));
  if (own) {
    for (size_t b = 0; b < SR_BANDS; ++b) {
      // White, to 24 kHz
      const double width_hz = SR_BAND_EDGES_HZ[b + 1] - SR_BAND_EDGES_HZ[b];
      own->all_db[b] = USUAL_DB + (float)(10.0 * log10(width_hz / 24000.0));
      own->floor_db[b] = -140.0f;
    }
  }
  return own;
}

void
sr_own_noise_del(SrOwnNoise* const own)
{
  free(own);
}

bool
sr_own_noise_knows_floor(const SrOwnNoise* const own)
{
  return own->floor_count >= 3.0f;
}

static float
power_of(const float db)
{
  return powf(10.0f, 0.1f * db);
}

void
sr_own_noise_expect(const SrOwnNoise* const own, const size_t pitch, const double power,
                    float* const expected)
{
  for (size_t b = 0; b < SR_BANDS; ++b) {
    expected[b] = power_of(own->floor_db[b] + OVER_QUANTILE_DB);
    if (pitch < SR_PITCHES) {
      const float trust = own->reed_count[pitch] / (own->reed_count[pitch] + KNOWN);
      const float db = own->all_db[b] + trust * own->reed_db[pitch][b];
      expected[b] += (float)power * power_of(db + OVER_QUANTILE_DB);
    }
  }
}

/// Move a quantile towards a new value.
static float
moved(const float quantile, const float value, const float count, const float weight)
{
  const float step = weight * fmaxf(LEAST_STEP_DB, FIRST_STEP_DB / (count + 1.0f));
  return quantile + (value > quantile ? step * QUANTILE : -step * (1.0f - QUANTILE));
}

void
sr_own_noise_learn(SrOwnNoise* const own, const size_t pitch, const double power,
                   const float* const noise, const bool doubtful)
{
  const float weight = doubtful ? DOUBTFUL : 1.0f;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    if (pitch == SR_PITCHES) {
      const float db = 10.0f * log10f(noise[b] + 1e-14f);
      own->floor_db[b] =
          own->floor_count < 1.0f ? db : moved(own->floor_db[b], db, own->floor_count, weight);
      continue;
    }
    const float rest = noise[b] - power_of(own->floor_db[b]);
    if (!(power > 0.0) || rest < 0.3f * noise[b]) {
      continue; // under the floor: nothing is learnt of the reed
    }
    const float db = 10.0f * log10f(rest / (float)power + 1e-14f);
    own->all_db[b] = moved(own->all_db[b], db, own->all_count, weight);
    const float apart =
        moved(own->reed_db[pitch][b] + own->all_db[b], db, own->reed_count[pitch], weight);
    own->reed_db[pitch][b] = fminf(fmaxf(apart - own->all_db[b], -MOST_APART_DB), MOST_APART_DB);
  }
  if (pitch == SR_PITCHES) {
    own->floor_count += weight;
  } else {
    own->all_count += weight;
    own->reed_count[pitch] += weight;
  }
}
