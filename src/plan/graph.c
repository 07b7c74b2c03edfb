// SPDX-License-Identifier: GPL-3.0-or-later

#include "graph.h"

#include <stdlib.h>

/// A step that leads to a node, before edges are sorted by node.
typedef struct {
  uint32_t to;
  SrEdge edge;
} Step;

/// What grows while a layer is built.
typedef struct {
  SrNode* nodes;
  size_t count;
  size_t room;
  Step* steps;
  size_t step_count;
  size_t step_room;
} Growth;

static bool
grow(void** const items, size_t* const room, const size_t count, const size_t size)
{
  if (count < *room) {
    return true;
  }
  const size_t more = *room ? 2 * *room : 64;
  void* const bigger = realloc(*items, more * size);
  if (bigger) {
    *items = bigger;
    *room = more;
  }
  return bigger;
}

/// Index of a node, added if it is new; SIZE_MAX without memory.
static size_t
node_of(Growth* const g, const SrNode* const wanted)
{
  for (size_t n = 0; n < g->count; ++n) {
    const SrNode* const node = &g->nodes[n];
    if (node->way == wanted->way && node->turned == wanted->turned &&
        node->other == wanted->other && node->other_way == wanted->other_way) {
      return n;
    }
  }
  void* items = g->nodes;
  const bool enough = grow(&items, &g->room, g->count, sizeof(SrNode));
  g->nodes = (SrNode*)items;
  if (!enough) {
    return SIZE_MAX;
  }
  g->nodes[g->count] = *wanted;
  return g->count++;
}

static bool
add_step(Growth* const g, const size_t to, const size_t from, const int cost)
{
  void* items = g->steps;
  const bool enough = to != SIZE_MAX && grow(&items, &g->step_room, g->step_count, sizeof(Step));
  g->steps = (Step*)items;
  if (enough) {
    g->steps[g->step_count++] = (Step){(uint32_t)to, {(uint32_t)from, cost}};
  }
  return enough;
}

/// The part of a node's memory that is still of use at note `note`.
static void
forget(const SrMoves* const moves, const size_t note, SrNode* const node)
{
  if (node->other >= 0 &&
      (note + 1 >= moves->count || !sr_moves_remembers(moves, (size_t)node->other, note + 1))) {
    node->other = -1;
  }
  if (node->other < 0) {
    node->other_way = 0;
  }
}

/// Step from a node of the note before to a way of a note.
static bool
step_to(const SrMoves* const moves, const size_t note, const SrNode* const before,
        const size_t from, const size_t way, Growth* const g)
{
  const SrChoice* const choice = &moves->choices[note];
  const SrWay* const to = &choice->ways[way];
  const SrWay* const own = &moves->choices[note - 1].ways[before->way];
  const bool same_hand = own->hand == to->hand;
  SrLast last = {note - 1, own};
  if (!same_hand) {
    last = (SrLast){0, NULL};
    if (before->other >= 0) {
      const size_t other = (size_t)before->other;
      last = (SrLast){other, &moves->choices[other].ways[before->other_way]};
    }
  }
  int cost = sr_moves_step_sum(sr_moves_step(moves, note, own, last, to));
  SrNode node = {.way = (uint8_t)way,
                 .other = same_hand ? before->other : (int32_t)note - 1,
                 .other_way = same_hand ? before->other_way : before->way,
                 .turned = before->turned || own->direction != to->direction};
  if (choice->closes_pair) {
    cost += node.turned ? 0 : moves->settings->style.flat;
    node.turned = false;
  }
  node.turned = node.turned || moves->settings->style.flat == 0;
  forget(moves, note, &node);
  return add_step(g, node_of(g, &node), from, cost);
}

/// The nodes of the first note.
static bool
start(const SrMoves* const moves, Growth* const g)
{
  bool enough = true;
  for (size_t w = 0; w < moves->choices[0].way_count; ++w) {
    const SrNode node = {
        .way = (uint8_t)w, .other = -1, .turned = moves->settings->style.flat == 0};
    enough = enough && node_of(g, &node) != SIZE_MAX;
  }
  return enough;
}

/// Sort the steps by node and keep them.
static bool
finish(Growth* const g, SrLayer* const layer)
{
  layer->nodes = g->nodes;
  layer->count = g->count;
  layer->edge_count = g->step_count;
  layer->edges = (SrEdge*)malloc((g->step_count + 1) * sizeof(SrEdge));
  for (size_t n = 0; n < g->count; ++n) {
    layer->nodes[n].first = 0;
    layer->nodes[n].last = 0;
  }
  for (size_t s = 0; s < g->step_count; ++s) {
    ++layer->nodes[g->steps[s].to].last;
  }
  uint32_t at = 0;
  for (size_t n = 0; n < g->count; ++n) {
    const uint32_t edges = layer->nodes[n].last;
    layer->nodes[n].first = at;
    layer->nodes[n].last = at;
    at += edges;
  }
  for (size_t s = 0; layer->edges && s < g->step_count; ++s) {
    layer->edges[layer->nodes[g->steps[s].to].last++] = g->steps[s].edge;
  }
  free(g->steps);
  return layer->edges;
}

SrStatus
sr_graph_new(const SrMoves* const moves, SrGraph* const graph)
{
  *graph = (SrGraph){.count = moves->count};
  graph->layers = (SrLayer*)calloc(moves->count, sizeof(SrLayer));
  bool enough = graph->layers;
  for (size_t i = 0; enough && i < moves->count; ++i) {
    Growth g = {0};
    if (i == 0) {
      enough = start(moves, &g);
    } else {
      const SrLayer* const before = &graph->layers[i - 1];
      for (size_t n = 0; n < before->count; ++n) {
        for (size_t w = 0; enough && w < moves->choices[i].way_count; ++w) {
          enough = step_to(moves, i, &before->nodes[n], n, w, &g);
        }
      }
    }
    enough = finish(&g, &graph->layers[i]) && enough;
    graph->nodes += g.count;
  }
  return enough ? SR_OK : SR_NO_MEMORY;
}

void
sr_graph_clear(SrGraph* const graph)
{
  for (size_t i = 0; graph->layers && i < graph->count; ++i) {
    free(graph->layers[i].nodes);
    free(graph->layers[i].edges);
  }
  free(graph->layers);
  graph->layers = NULL;
}
