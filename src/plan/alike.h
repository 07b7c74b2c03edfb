// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file alike.h
   Bars that are written alike are played alike, as long as that costs little: a player learns a
   way to play a bar once. What the cheapest plan does in one place and not in another, because of
   what comes before, is then done everywhere.
*/

#ifndef SR_PLAN_ALIKE_H
#define SR_PLAN_ALIKE_H

#include "search.h"

/**
   Play equal bars alike.

   For each kind of bar that a plan plays in several ways, the most usual of these is tried in all
   places, then each of the others; what it costs more may be at most `unlike` of the style for
   each bar that it changes. Air may be taken where it is needed all the same.

   @param moves  What there is.
   @param avoid  As the plan was searched for.
   @param chosen The plan; changed.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_alike(const SrMoves* moves, const SrAvoid* avoid, SrChosen* chosen);

#endif // SR_PLAN_ALIKE_H
