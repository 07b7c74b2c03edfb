// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file search.h
   The cheapest way through all notes.
*/

#ifndef SR_PLAN_SEARCH_H
#define SR_PLAN_SEARCH_H

#include "moves.h"

#include <stdint.h>

/// The choice at a note.
typedef struct {
  size_t way; ///< Index in its SrChoice
  int air;    ///< Steps
  int before; ///< Opening before it, units
  bool alike; ///< Chosen only so that equal bars are played alike
} SrChosen;

/// Penalty for reusing the buttons of earlier plans. NULL for none.
typedef struct {
  const SrChosen* const* plans;
  size_t plan_count;
  int price; ///< For each note played on the button of an earlier plan
} SrAvoid;

/// No fixed way for a note.
#define SR_ANY_WAY SIZE_MAX

/**
   Find the cheapest plan by dynamic programming over ways and the opening of the bellows.

   @param moves  The possible moves.
   @param avoid  Plans to avoid; NULL for none.
   @param fixed  For each note the way it must be played, or SR_ANY_WAY; NULL for none.
   @param chosen Receives one entry for each note.
   @param stuck  Receives the note at which the bellows run out, if they do.
   @return SR_OK, SR_UNSUPPORTED (the bellows run out) or SR_NO_MEMORY.
*/
SrStatus sr_search(const SrMoves* moves, const SrAvoid* avoid, const size_t* fixed,
                   SrChosen* chosen, size_t* stuck);

/// Cost of note `note` of a plan, including the transition to it.
int sr_search_note_cost(const SrMoves* moves, const SrChosen* chosen, size_t note);
/// Cost of a whole plan, including the penalty of `avoid`.
long sr_search_cost(const SrMoves* moves, const SrAvoid* avoid, const SrChosen* chosen);

#endif // SR_PLAN_SEARCH_H
