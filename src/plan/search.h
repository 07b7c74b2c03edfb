// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file search.h
   The cheapest way through all notes.
*/

#ifndef SR_PLAN_SEARCH_H
#define SR_PLAN_SEARCH_H

#include "moves.h"

#include <stdint.h>

/// What was chosen at a note.
typedef struct {
  size_t way; ///< Of its choice
  int air;    ///< Steps
  int before; ///< Opening, units
  bool alike; ///< Only because equal bars are played alike
} SrChosen;

/// Ways that are to be dearer, note by note: those of plans that there are already. NULL for none.
typedef struct {
  const SrChosen* const* plans;
  size_t plan_count;
  int price; ///< For each note played on the button of an earlier plan
} SrAvoid;

/// No way is fixed for a note.
#define SR_ANY_WAY SIZE_MAX

/**
   Find the cheapest plan by dynamic programming over ways and the opening of the bellows.

   @param moves  What there is.
   @param avoid  NULL for nothing to avoid.
   @param fixed  For each note the way it must be played, or SR_ANY_WAY; NULL for none.
   @param chosen Receives one for each note.
   @param stuck  Receives the note at which the bellows cannot go on, if so.
   @return SR_OK, SR_UNSUPPORTED (the bellows run out) or SR_NO_MEMORY.
*/
SrStatus sr_search(const SrMoves* moves, const SrAvoid* avoid, const size_t* fixed,
                   SrChosen* chosen, size_t* stuck);

/// What note `note` of a plan costs, with the way to it.
int sr_search_note_cost(const SrMoves* moves, const SrChosen* chosen, size_t note);
/// What a whole plan costs, with what avoiding others adds.
long sr_search_cost(const SrMoves* moves, const SrAvoid* avoid, const SrChosen* chosen);

#endif // SR_PLAN_SEARCH_H
