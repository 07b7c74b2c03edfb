// SPDX-License-Identifier: GPL-3.0-or-later

#include "air_excess.h"

#include "air_run.h"
#include "larger.h"
#include "tuning.h"

#include <math.h>

/// Whether at least two groups of bands exceed the expected noise by similar factors; noise in only
/// one is a tone.
static bool
is_broad(const float* const noise, const float* const expected)
{
  const float least = powf(10.0f, LEAST_EXCESS_DB / 10.0f);
  float first = 0.0f;
  float second = 0.0f;
  for (size_t g = 0; g < SR_AIR_GROUPS; ++g) {
    float heard = 0.0f;
    float usual = 0.0f;
    for (size_t b = SR_AIR_GROUP_EDGES[g]; b < SR_AIR_GROUP_EDGES[g + 1]; ++b) {
      heard += noise[b];
      usual += expected[b];
    }
    const float ratio = heard / (usual + 1e-20f);
    second = sr_larger(sr_smaller(ratio, first), second);
    first = sr_larger(ratio, first);
  }
  return second > least && second > AIR_ALIKE * first;
}

bool
sr_air_is_over(const float* const noise, const float* const expected, const double reference)
{
  const double hiss = sr_air_reported(noise) - sr_air_reported(expected);
  return hiss > LEAST_ADDED * reference && is_broad(noise, expected);
}

double
sr_air_low_power(const float* const noise, const float* const expected, const double reference)
{
  double low = 0.0;
  double middle = 0.0;
  for (size_t b = 2; b < SR_AIR_FIRST_BAND; ++b) {
    low += (double)sr_larger(noise[b] - 2.0f * expected[b], 0.0f);
  }
  for (size_t b = SR_AIR_GROUP_EDGES[0]; b < SR_AIR_GROUP_EDGES[1]; ++b) {
    middle += (double)sr_larger(noise[b] - expected[b], 0.0f);
  }
  const double low_hz = SR_BAND_EDGES_HZ[SR_AIR_FIRST_BAND] - SR_BAND_EDGES_HZ[2];
  const double middle_hz =
      SR_BAND_EDGES_HZ[SR_AIR_GROUP_EDGES[1]] - SR_BAND_EDGES_HZ[SR_AIR_GROUP_EDGES[0]];
  const bool is_low =
      low > LEAST_LOW * reference && low / low_hz > LOW_OVER_MIDDLE * middle / middle_hz;
  return is_low ? low : 0.0;
}
