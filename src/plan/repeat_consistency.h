// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file repeat_consistency.h
   Bars that are written alike are played alike: a player learns one way to play a bar. A kind of
   bar that is not always played alike costs `unlike` of the style for each of its bars after the
   first.

   The cheapest path under that price is found by branch and bound: without the condition, a search
   gives the lower bound; where the bars of a kind differ at a note, that note is fixed in all of
   them to each way they use, or to any other, or the price is paid.
*/

#ifndef SR_PLAN_REPEAT_CONSISTENCY_H
#define SR_PLAN_REPEAT_CONSISTENCY_H

#include "search.h"

/// The bars of a phrase by kind.
typedef struct SrBarKindsImpl SrBarKinds;

/// Compare all bars. NULL without memory.
SrBarKinds* sr_bar_kinds_new(const SrMoves* moves);
/// Free; NULL does nothing.
void sr_bar_kinds_del(SrBarKinds* kinds);
/// Cost of bars that a path does not play alike.
long sr_bar_kinds_cost(const SrBarKinds* kinds, const SrChosen* chosen);

/**
   Find the cheapest path, bars not played alike included.

   @param extra  As for sr_search_run().
   @param nodes  Nodes to look at, after which the best path so far is taken; 20 searches are made
                 in any case.
   @param chosen Receives one entry for each note.
   @param stuck  Receives the note at which the bellows run out, if they do.
   @param proven Receives whether no path is cheaper, `extra` and `unlike` included; false if the
                 search was ended before that was known.
   @return SR_OK, SR_UNSUPPORTED (the bellows run out) or SR_NO_MEMORY.
*/
SrStatus sr_consistent_path(SrSearch* search, const SrBarKinds* kinds, const int* extra,
                            size_t nodes, SrChosen* chosen, size_t* stuck, bool* proven);

#endif // SR_PLAN_REPEAT_CONSISTENCY_H
