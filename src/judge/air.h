// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air.h
   Which air releases belong to a round, whether they were audible, and what the notes did
   meanwhile.
*/

#ifndef SR_JUDGE_AIR_H
#define SR_JUDGE_AIR_H

#include "rounds.h"

/// The effect of a release reaches this far beyond its detected limits, s.
#define SR_ABOUT_AIR_S 0.12

/// Fill a round's `air` and its notes' `air_asked`, after its rhythm is fitted. Returns SR_OK or
/// SR_NO_MEMORY.
SrStatus sr_air_gather(const SrTake* take, SrRound* round);

#endif // SR_JUDGE_AIR_H
