// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reasons.h
   Explaining a plan in a player's words: for each choice that a teacher would be asked about, what
   the other way would cost.
*/

#ifndef SR_PLAN_REASONS_H
#define SR_PLAN_REASONS_H

#include "path.h"

/// Most bytes of a sentence.
#define SR_REASON_SIZE 200

/**
   Fill in the reasons of a plan's notes. A note that leaves its home is compared with its home; a
   note at home with the best other button, and only where a move of the hand or the bellows
   decides. The same reason is given once.

   @return False without memory.
*/
bool sr_reasons_of_notes(const SrMoves* moves, const SrChosen* chosen, SrPlan* plan);
/**
   Describe what distinguishes a plan.

   @param first The plan to compare with; NULL for the first plan itself.
   @param line  Number of the sentence, from 0.
   @param room  Receives the sentence, `size` bytes.
   @return Whether there is one.
*/
bool sr_reason_of_plan(const SrPhrase* phrase, const SrPlan* plan, const SrPlan* first, size_t line,
                       char* room, size_t size);

#endif // SR_PLAN_REASONS_H
