// SPDX-License-Identifier: GPL-3.0-or-later

#include "tuning.h"

#include <steadyreed/mask.h>

#include <math.h>

double
sr_mask_bark(const double hz)
{
  return 13.0 * atan(0.00076 * hz) + 3.5 * atan((hz / 7500.0) * (hz / 7500.0));
}

double
sr_mask_quiet_db(const double hz)
{
  const double k = hz / 1000.0;
  return 3.64 * pow(k, -0.8) - 6.5 * exp(-0.6 * (k - 3.3) * (k - 3.3)) + 1e-3 * k * k * k * k;
}

double
sr_mask_spread_db(const double level_db, const double distance)
{
  if (distance < -3.0 || distance >= 8.0) {
    return (double)-INFINITY;
  }
  if (distance < -1.0) {
    return 17.0 * (distance + 1.0) - (0.4 * level_db + 6.0);
  }
  if (distance < 0.0) {
    return (0.4 * level_db + 6.0) * distance;
  }
  if (distance < 1.0) {
    return -17.0 * distance;
  }
  return -(distance - 1.0) * (17.0 - 0.15 * level_db) - 17.0;
}

double
sr_mask_tone_db(const double bark)
{
  return -1.525 - 0.275 * bark - 4.5;
}

double
sr_mask_noise_db(const double bark)
{
  return -1.525 - 0.175 * bark - 0.5;
}

double
sr_mask_level_db(const double mean_square)
{
  return SR_MASK_FULL_SCALE_DB + 10.0 * log10(2.0 * mean_square + 1e-20);
}

/// The middle of a critical band: the geometric mean of its edges; 50 Hz for the first.
static double
middle_hz(const size_t band)
{
  return band == 0 ? 50.0 : sqrt(SR_BAND_EDGES_HZ[band] * SR_BAND_EDGES_HZ[band + 1]);
}

static double
power_of(const double db)
{
  return pow(10.0, db / 10.0);
}

double
sr_mask_threshold_db(const SrAirHeard* const air, const size_t band)
{
  const double hz = middle_hz(band);
  const double bark = sr_mask_bark(hz);
  double sum = power_of(sr_mask_quiet_db(hz));
  for (size_t b = 0; b < SR_BANDS; ++b) {
    if (air->tone[b] > 0.0 && air->place_hz[b] > 0.0) {
      const double level_db = sr_mask_level_db(air->tone[b]);
      const double at = sr_mask_bark(air->place_hz[b]);
      sum += power_of(level_db + sr_mask_tone_db(at) + sr_mask_spread_db(level_db, bark - at));
    }
    if (air->noise[b] > 0.0) {
      const double level_db = sr_mask_level_db(air->noise[b]);
      const double at = sr_mask_bark(middle_hz(b));
      sum += power_of(level_db + sr_mask_noise_db(at) + sr_mask_spread_db(level_db, bark - at));
    }
  }
  return 10.0 * log10(sum);
}

double
sr_mask_brief_db(const double length_s)
{
  return length_s < INTEGRATED_S ? 10.0 * log10(INTEGRATED_S / length_s) : 0.0;
}

double
sr_mask_over_db(const SrAirHeard* const air)
{
  double most = 0.0;
  double before = 0.0;
  for (size_t b = SR_AIR_FIRST_BAND; b <= SR_AIR_LAST_BAND; ++b) {
    const double level_db = sr_mask_level_db(fmax(0.0, air->hiss[b]));
    const double ratio = power_of(level_db - sr_mask_threshold_db(air, b));
    if (b > SR_AIR_FIRST_BAND) {
      most = fmax(most, 0.5 * (ratio + before));
    }
    before = ratio;
  }
  const double length_s = air->end_s - air->start_s;
  return 10.0 * log10(most + 1e-12) - (length_s > 0.0 ? sr_mask_brief_db(length_s) : 0.0);
}
