// SPDX-License-Identifier: GPL-3.0-or-later

#include "air_carriage.h"

#include "air_run.h"
#include "tuning.h"

SrAirCarriage
sr_air_carriage(const SrOwnNoise* const own)
{
  float level[SR_BANDS];
  if (!sr_own_noise_median(own, level)) {
    return SR_AIR_CARRIED;
  }
  if (sr_air_reported(level) > MOST_OWN) {
    return SR_AIR_REWRITTEN;
  }
  // Densities per Hz
  const size_t* const edges = SR_AIR_GROUP_EDGES;
  double density[SR_AIR_GROUPS] = {0.0};
  for (size_t g = 0; g < SR_AIR_GROUPS; ++g) {
    for (size_t b = edges[g]; b < edges[g + 1]; ++b) {
      density[g] += (double)level[b];
    }
    density[g] /= SR_BAND_EDGES_HZ[edges[g + 1]] - SR_BAND_EDGES_HZ[edges[g]];
  }
  return density[2] < MISSING * density[0] ? SR_AIR_BAND_MISSING : SR_AIR_CARRIED;
}
