// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file alike.h
   Plays bars that are written alike in the same way, if that costs little: a player learns one way
   to play a bar. What the cheapest plan does in only one place because of what precedes it is then
   done in all.
*/

#ifndef SR_PLAN_ALIKE_H
#define SR_PLAN_ALIKE_H

#include "search.h"

/**
   Play equal bars alike. For each kind of bar that a plan plays in several ways, the most frequent
   way is tried in all places, then each of the others; the extra cost may be at most the style's
   `unlike` for each bar changed. Where air is taken may still differ.

   @param moves  The possible moves.
   @param avoid  As in the search for the plan.
   @param chosen The plan; changed.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_alike(const SrMoves* moves, const SrAvoid* avoid, SrChosen* chosen);

#endif // SR_PLAN_ALIKE_H
