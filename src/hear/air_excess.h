// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air_excess.h
   What a window's noise has over the noise expected in it: air, or a sound that is none. Noise is
   given in SR_BANDS mean squares.
*/

#ifndef SR_HEAR_AIR_EXCESS_H
#define SR_HEAR_AIR_EXCESS_H

#include <stdbool.h>

/// Whether a window has more noise than expected, and broadband; `reference` is the power of the
/// note that it lies under or follows.
bool sr_air_is_over(const float* noise, const float* expected, double reference);
/**
   Excess noise at low frequencies that is far denser than higher up: a voice, a thump, a card that
   bends; air is not like that.

   @return Its power, 0 if it is not so.
*/
double sr_air_low_power(const float* noise, const float* expected, double reference);

#endif // SR_HEAR_AIR_EXCESS_H
