// SPDX-License-Identifier: GPL-3.0-or-later

#include "search.h"

#include "../hot.h"

#include <limits.h>
#include <stdlib.h>

/// Number of bellows openings, shut and full included, and a row of them rounded up for vectors.
#define OPENINGS (SR_BELLOWS_UNITS + 1)
#define ROW ((size_t)128)
/// Cost of an unreachable state.
#define NEVER (INT_MAX / 4)

struct SrSearchImpl {
  const SrMoves* moves;
  const SrGraph* graph;
  const int* extra;
  const uint32_t* allowed;
  int** rows;       ///< For each note ROW costs a node: least cost up to and including it, by the
                    ///< opening after it
  int* all;         ///< The memory of the rows
  int room[2][ROW]; ///< Cost of low room by direction and opening after
  int arrive[ROW];  ///< Least cost just before a note, by opening
};

SrSearch*
sr_search_new(const SrMoves* const moves, const SrGraph* const graph)
{
  SrSearch* const s = (SrSearch*)calloc(1, sizeof(SrSearch));
  if (!s) {
    return NULL;
  }
  s->moves = moves;
  s->graph = graph;
  s->rows = (int**)malloc(graph->count * sizeof(int*));
  s->all = (int*)malloc(graph->nodes * ROW * sizeof(int));
  if (!s->rows || !s->all) {
    sr_search_del(s);
    return NULL;
  }
  int* at = s->all;
  for (size_t i = 0; i < graph->count; ++i) {
    s->rows[i] = at;
    at += graph->layers[i].count * ROW;
  }
  for (int o = 0; o < OPENINGS; ++o) {
    s->room[0][o] = sr_moves_room_cost(moves, SR_DIRECTION_PRESS, o);
    s->room[1][o] = sr_moves_room_cost(moves, SR_DIRECTION_DRAW, o);
  }
  return s;
}

void
sr_search_del(SrSearch* const search)
{
  if (search) {
    free(search->rows);
    free(search->all);
    free(search);
  }
}

size_t
sr_search_nodes(const SrSearch* const search)
{
  return search->graph->nodes;
}

static bool
is_allowed(const SrSearch* const s, const size_t note, const size_t way)
{
  return !s->allowed || (s->allowed[note] >> way & 1u);
}

static void
clear(int row[ROW])
{
  for (size_t o = 0; o < ROW; ++o) {
    row[o] = NEVER;
  }
}

/// For each opening find the cheapest way to a node.
SR_HOT static void
arrive_at(SrSearch* const s, const size_t note, const SrNode* const node)
{
  const SrLayer* const layer = &s->graph->layers[note];
  clear(s->arrive);
  if (note == 0) {
    s->arrive[s->moves->start] = 0;
    return;
  }
  int* const arrive = s->arrive;
  for (size_t e = node->first; e < node->last; ++e) {
    const SrEdge* const edge = &layer->edges[e];
    const SrNode* const from = &s->graph->layers[note - 1].nodes[edge->from];
    if (is_allowed(s, note - 1, from->way)) {
      const int* const row = s->rows[note - 1] + edge->from * ROW;
      const int step = edge->cost;
      for (size_t o = 0; o < ROW; ++o) {
        const int cost = row[o] + step;
        arrive[o] = cost < arrive[o] ? cost : arrive[o];
      }
    }
  }
}

static int
own_cost(const SrSearch* const s, const size_t note, const size_t way)
{
  return s->moves->choices[note].ways[way].own_cost +
         (s->extra ? s->extra[note * SR_MOST_WAYS + way] : 0);
}

/// Play a note from all openings. Returns whether any state is reachable.
SR_HOT static bool
play(const SrSearch* const s, const size_t note, const SrNode* const node, int* const row)
{
  const SrChoice* const choice = &s->moves->choices[note];
  const bool press = choice->ways[node->way].direction == SR_DIRECTION_PRESS;
  const int* const room = s->room[press ? 0 : 1];
  const int own = own_cost(s, note, node->way);
  for (int air = 0; air <= choice->air_steps; ++air) {
    const int moved = choice->use + air * SR_AIR_STEP;
    const int from = press ? 0 : moved;
    const int to = press ? SR_BELLOWS_UNITS - moved : SR_BELLOWS_UNITS;
    const int shift = press ? moved : -moved;
    int price[ROW] = {0};
    for (int after = from; (air > 0 || choice->air_asked) && after <= to; ++after) {
      price[after] = sr_moves_air_cost(s->moves, note, air, after);
    }
    for (int after = from; after <= to; ++after) {
      const int total = s->arrive[after + shift] + own + room[after] + price[after];
      row[after] = total < row[after] ? total : row[after];
    }
  }
  int least = NEVER;
  for (size_t o = 0; o < ROW; ++o) {
    least = row[o] < least ? row[o] : least;
  }
  return least < NEVER;
}

/// Where a path comes from.
typedef struct {
  size_t node;
  int opening;
  int cost;
} Place;

static Place
find_end(const SrSearch* const s)
{
  const size_t last = s->graph->count - 1;
  Place end = {0, 0, NEVER};
  for (size_t n = 0; n < s->graph->layers[last].count; ++n) {
    for (int o = 0; o < OPENINGS; ++o) {
      const int cost = s->rows[last][n * ROW + (size_t)o];
      if (cost < end.cost) {
        end = (Place){n, o, cost};
      }
    }
  }
  return end;
}

/// Find how a place was reached; fills in `chosen` and moves `place` to the note before.
static void
step_back(const SrSearch* const s, const size_t note, Place* const place, SrChosen* const chosen)
{
  const SrLayer* const layer = &s->graph->layers[note];
  const SrNode* const node = &layer->nodes[place->node];
  const SrChoice* const choice = &s->moves->choices[note];
  const bool press = choice->ways[node->way].direction == SR_DIRECTION_PRESS;
  const int own = own_cost(s, note, node->way) + s->room[press ? 0 : 1][place->opening];
  for (int air = 0; air <= choice->air_steps; ++air) {
    const int moved = choice->use + air * SR_AIR_STEP;
    const int before = place->opening + (press ? moved : -moved);
    if (before < 0 || before > SR_BELLOWS_UNITS) {
      continue;
    }
    const int arrived = place->cost - own - sr_moves_air_cost(s->moves, note, air, place->opening);
    *chosen = (SrChosen){node->way, air, before};
    if (note == 0) {
      if (before == s->moves->start && arrived == 0) {
        return;
      }
      continue;
    }
    for (size_t e = node->first; e < node->last; ++e) {
      const SrEdge* const edge = &layer->edges[e];
      const SrNode* const from = &s->graph->layers[note - 1].nodes[edge->from];
      const int cost = s->rows[note - 1][edge->from * ROW + (size_t)before];
      if (is_allowed(s, note - 1, from->way) && cost < NEVER && cost + edge->cost == arrived) {
        *place = (Place){edge->from, before, cost};
        return;
      }
    }
  }
}

long
sr_search_run(SrSearch* const search, const int* const extra, const uint32_t* const allowed,
              SrChosen* const chosen, size_t* const stuck)
{
  search->extra = extra;
  search->allowed = allowed;
  for (size_t i = 0; i < search->graph->count; ++i) {
    const SrLayer* const layer = &search->graph->layers[i];
    bool any = false;
    for (size_t n = 0; n < layer->count; ++n) {
      int* const row = search->rows[i] + n * ROW;
      clear(row);
      if (is_allowed(search, i, layer->nodes[n].way)) {
        arrive_at(search, i, &layer->nodes[n]);
        any = play(search, i, &layer->nodes[n], row) || any;
      }
    }
    if (!any) {
      *stuck = i;
      return -1;
    }
  }
  Place place = find_end(search);
  const long cost = place.cost;
  for (size_t i = search->graph->count; i-- > 0;) {
    step_back(search, i, &place, &chosen[i]);
  }
  return cost;
}
