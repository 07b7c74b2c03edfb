// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file reasons.h
   Why a plan is as it is, in a player's words.
*/

#ifndef SR_PLAN_REASONS_H
#define SR_PLAN_REASONS_H

#include "search.h"

/**
   Why a note is played the way it is and not another.

   @param room Receives the sentence, `size` bytes; empty if there was no choice.
*/
void sr_reason_of(const SrMoves* moves, const SrChosen* chosen, size_t note, char* room,
                  size_t size);
/**
   What sets a plan apart.

   @param first The plan it is compared with; NULL if it is the first itself.
   @param line  Number of the sentence, from 0.
   @return Whether there is one.
*/
bool sr_reason_of_plan(const SrPhrase* phrase, const SrPlan* plan, const SrPlan* first, size_t line,
                       char* room, size_t size);

#endif // SR_PLAN_REASONS_H
