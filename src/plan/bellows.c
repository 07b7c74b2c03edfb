// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/plan.h>

#include <math.h>

SrBellows
sr_bellows_default(void)
{
  const SrBellows bellows = {.at_a4 = 8.0, .octave_power = 0.5, .air_most = 40.0, .start = 0.5};
  return bellows;
}

int
sr_bellows_use(const SrBellows* const bellows, const int midi, const double seconds)
{
  const double octaves_lower = (69.0 - midi) / 12.0;
  const double a_second = bellows->at_a4 * exp2(octaves_lower * bellows->octave_power);
  const long units = lround(a_second * seconds);
  return units < 1 ? 1 : (int)units;
}
