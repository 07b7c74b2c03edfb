// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reasons.h
   Explaining a plan in a player's words.
*/

#ifndef SR_PLAN_REASONS_H
#define SR_PLAN_REASONS_H

#include "search.h"

/**
   Explain why a note is played this way and not another.

   @param room Receives the sentence, `size` bytes; empty if there was no choice.
*/
void sr_reason_of(const SrMoves* moves, const SrChosen* chosen, size_t note, char* room,
                  size_t size);
/**
   Describe what distinguishes a plan.

   @param first The plan to compare with; NULL for the first plan itself.
   @param line  Number of the sentence, from 0.
   @return Whether there is one.
*/
bool sr_reason_of_plan(const SrPhrase* phrase, const SrPlan* plan, const SrPlan* first, size_t line,
                       char* room, size_t size);

#endif // SR_PLAN_REASONS_H
