// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file other_plans.h
   Plans that really differ: each plays a sixth of the notes, and at least two, on other buttons
   than every plan before it.
*/

#ifndef SR_PLAN_OTHER_PLANS_H
#define SR_PLAN_OTHER_PLANS_H

#include "repeat_consistency.h"

/// Most notes that can lie on other buttons than in a path, and how many would be needed.
size_t sr_other_plans_most(const SrMoves* moves, const SrChosen* path);
size_t sr_other_plans_needed(const SrMoves* moves);
/**
   Find a cheap path that differs from all before it.

   @param before The paths before it, `count` of them.
   @return SR_OK, SR_NOT_FOUND if there is none, or SR_NO_MEMORY.
*/
SrStatus sr_other_plans_find(SrSearch* search, const SrMoves* moves, const SrBarKinds* kinds,
                             SrChosen* const* before, size_t count, SrChosen* chosen);

#endif // SR_PLAN_OTHER_PLANS_H
