// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file search.h
   The cheapest way through all notes, by dynamic programming over the nodes of the graph and the
   opening of the bellows. The opening is counted in whole units and all costs are whole numbers, so
   that "cheapest" is exact; tests/plan/test_plan.c compares it with plain enumeration.
*/

#ifndef SR_PLAN_SEARCH_H
#define SR_PLAN_SEARCH_H

#include "graph.h"
#include "path.h"

/// All ways of a note allowed.
#define SR_ALL_WAYS UINT32_MAX

/// What a search keeps between runs.
typedef struct SrSearchImpl SrSearch;

/// A new search over a graph; both must outlive it. NULL without memory.
SrSearch* sr_search_new(const SrMoves* moves, const SrGraph* graph);
/// Free; NULL does nothing.
void sr_search_del(SrSearch* search);
/// Nodes that a run looks at.
size_t sr_search_nodes(const SrSearch* search);
/**
   Find the cheapest path.

   @param extra   Extra cost of each way of each note, SR_MOST_WAYS a note; NULL for none.
   @param allowed A bit for each way that each note may be played in; NULL for all.
   @param chosen  Receives one entry for each note.
   @param stuck   Receives the note at which the bellows run out, if they do.
   @return Its cost, `extra` included; -1 if there is none.
*/
long sr_search_run(SrSearch* search, const int* extra, const uint32_t* allowed, SrChosen* chosen,
                   size_t* stuck);

#endif // SR_PLAN_SEARCH_H
