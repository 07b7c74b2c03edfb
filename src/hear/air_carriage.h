// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air_carriage.h
   Whether a recording can carry air, by the noise of its reeds. If that is over MOST_OWN, or
   nothing is left above 4.4 kHz, it cannot (sr_hear_air_carriage()), and judge reports none.
*/

#ifndef SR_HEAR_AIR_CARRIAGE_H
#define SR_HEAR_AIR_CARRIAGE_H

#include "own_noise.h"

/// Whether air can be detected over this noise of the reeds.
SrAirCarriage sr_air_carriage(const SrOwnNoise* own);

#endif // SR_HEAR_AIR_CARRIAGE_H
