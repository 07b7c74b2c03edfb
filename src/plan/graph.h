// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file graph.h
   Everything a step's cost depends on, but for the opening of the bellows, as the nodes of a graph:
   the way of a note, what the other hand played last, and whether the bellows have turned in these
   two bars. Built once for a phrase; each search goes through it with the openings.
*/

#ifndef SR_PLAN_GRAPH_H
#define SR_PLAN_GRAPH_H

#include "moves.h"

/// One node.
typedef struct {
  uint8_t way;       ///< Of its note
  uint8_t other_way; ///< What the other hand played last: a way of note `other`
  bool turned;       ///< The bellows have turned in this pair of bars
  int32_t other;     ///< That note; -1 for none
  uint32_t first;    ///< Its first edge, and the one after its last
  uint32_t last;
} SrNode;

/// A step from a node of the note before.
typedef struct {
  uint32_t from; ///< Its index among the nodes of its note
  int cost;
} SrEdge;

/// The nodes of one note.
typedef struct {
  SrNode* nodes;
  size_t count;
  SrEdge* edges;
  size_t edge_count;
} SrLayer;

typedef struct {
  SrLayer* layers; ///< One for each note
  size_t count;
  size_t nodes;
} SrGraph;

/// Build it. SR_OK or SR_NO_MEMORY; clear it in any case.
SrStatus sr_graph_new(const SrMoves* moves, SrGraph* graph);
/// Free what it holds.
void sr_graph_clear(SrGraph* graph);

#endif // SR_PLAN_GRAPH_H
