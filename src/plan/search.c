// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file search.c
   Dynamic programming over button, direction and opening of the bellows. The opening is counted in
   whole units and all costs are whole numbers, so that "cheapest" is exact; tests/plan/test_plan.c
   compares it with plain enumeration.
*/

#include "search.h"

#include <limits.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// Number of bellows openings, including shut and full.
#define OPENINGS ((size_t)SR_BELLOWS_UNITS + 1u)
/// Cost of an unreachable state.
#define NEVER (INT_MAX / 4)

/// Back pointer of a DP state.
typedef struct {
  uint8_t way; ///< Way of the previous note
  uint8_t air;
} Back;

typedef struct {
  const SrMoves* moves;
  const SrAvoid* avoid;
  const size_t* fixed;
  int* now; ///< SR_MOST_WAYS rows of OPENINGS: least cost up to and including a note, by its way
            ///< and the opening after it
  int* next;
  int* arrive; ///< OPENINGS: least cost just before playing a way
  uint8_t* from;
  Back* back; ///< Back pointer by note, way and opening after it
} Search;

static Back*
back_of(const Search* const s, const size_t note, const size_t way, const size_t opening)
{
  return &s->back[(note * SR_MOST_WAYS + way) * OPENINGS + opening];
}

/// Extra cost of a way for using the button of an earlier plan.
static int
avoid_cost(const Search* const s, const size_t note, const SrWay* const way)
{
  int cost = 0;
  for (size_t p = 0; s->avoid && p < s->avoid->plan_count; ++p) {
    const size_t theirs = s->avoid->plans[p][note].way;
    cost += s->moves->choices[note].ways[theirs].button == way->button ? s->avoid->price : 0;
  }
  return cost;
}

/// For each opening find the cheapest transition to a way of a note.
static void
arrive_at(const Search* const s, const size_t note, const SrWay* const to)
{
  const SrChoice* const before = &s->moves->choices[note - 1];
  for (size_t o = 0; o < OPENINGS; ++o) {
    s->arrive[o] = NEVER;
    s->from[o] = 0;
  }
  for (size_t w = 0; w < before->way_count; ++w) {
    const int step = sr_moves_step_cost(s->moves, note, &before->ways[w], to);
    const int* const row = s->now + w * OPENINGS;
    for (size_t o = 0; o < OPENINGS; ++o) {
      if (row[o] + step < s->arrive[o]) {
        s->arrive[o] = row[o] + step;
        s->from[o] = (uint8_t)w;
      }
    }
  }
}

/// Play a note in one way from all openings. Returns whether any state is reachable.
static bool
play(const Search* const s, const size_t note, const size_t way)
{
  const SrChoice* const choice = &s->moves->choices[note];
  const SrWay* const to = &choice->ways[way];
  const int own = to->own_cost + avoid_cost(s, note, to);
  const int sign = to->direction == SR_DIRECTION_PRESS ? -1 : 1;
  int* const row = s->next + way * OPENINGS;
  bool any = false;
  for (size_t o = 0; o < OPENINGS; ++o) {
    row[o] = NEVER;
  }
  if (s->fixed && s->fixed[note] != SR_ANY_WAY && s->fixed[note] != way) {
    return false;
  }
  for (int air = 0; air <= choice->air_steps; ++air) {
    const int moved = choice->use + air * SR_AIR_STEP;
    for (int before = 0; before <= SR_BELLOWS_UNITS; ++before) {
      const int after = before + sign * moved;
      if (after < 0 || after > SR_BELLOWS_UNITS || s->arrive[before] >= NEVER) {
        continue;
      }
      const int total = s->arrive[before] + own + sr_moves_air_cost(s->moves, note, air, after) +
                        sr_moves_room_cost(s->moves, to->direction, after);
      if (total < row[after]) {
        row[after] = total;
        *back_of(s, note, way, (size_t)after) = (Back){s->from[before], (uint8_t)air};
        any = true;
      }
    }
  }
  return any;
}

static void
arrive_first(const Search* const s)
{
  for (size_t o = 0; o < OPENINGS; ++o) {
    s->arrive[o] = (int)o == s->moves->start ? 0 : NEVER;
    s->from[o] = 0;
  }
}

static void
trace_back(const Search* const s, SrChosen* const chosen)
{
  const size_t last = s->moves->count - 1;
  size_t way = 0;
  size_t opening = 0;
  int least = NEVER;
  for (size_t w = 0; w < s->moves->choices[last].way_count; ++w) {
    for (size_t o = 0; o < OPENINGS; ++o) {
      if (s->now[w * OPENINGS + o] < least) {
        least = s->now[w * OPENINGS + o];
        way = w;
        opening = o;
      }
    }
  }
  for (size_t i = s->moves->count; i-- > 0;) {
    const SrChoice* const choice = &s->moves->choices[i];
    const Back back = *back_of(s, i, way, opening);
    const int moved = choice->use + back.air * SR_AIR_STEP;
    const bool press = choice->ways[way].direction == SR_DIRECTION_PRESS;
    const int before = press ? (int)opening + moved : (int)opening - moved;
    chosen[i] = (SrChosen){way, back.air, before, false};
    opening = (size_t)before;
    way = back.way;
  }
}

static SrStatus
run(Search* const s, SrChosen* const chosen, size_t* const stuck)
{
  for (size_t i = 0; i < s->moves->count; ++i) {
    const SrChoice* const choice = &s->moves->choices[i];
    bool any = false;
    for (size_t w = 0; w < choice->way_count; ++w) {
      if (i == 0) {
        arrive_first(s);
      } else {
        arrive_at(s, i, &choice->ways[w]);
      }
      any = play(s, i, w) || any;
    }
    if (!any) {
      *stuck = i;
      return SR_UNSUPPORTED;
    }
    int* const swap = s->now;
    s->now = s->next;
    s->next = swap;
  }
  trace_back(s, chosen);
  return SR_OK;
}

SrStatus
sr_search(const SrMoves* const moves, const SrAvoid* const avoid, const size_t* const fixed,
          SrChosen* const chosen, size_t* const stuck)
{
  Search s = {.moves = moves, .avoid = avoid, .fixed = fixed};
  s.now = (int*)malloc(SR_MOST_WAYS * OPENINGS * sizeof(int));
  s.next = (int*)malloc(SR_MOST_WAYS * OPENINGS * sizeof(int));
  s.arrive = (int*)malloc(OPENINGS * sizeof(int));
  s.from = (uint8_t*)malloc(OPENINGS);
  s.back = (Back*)malloc(moves->count * SR_MOST_WAYS * OPENINGS * sizeof(Back));
  const bool enough = s.now && s.next && s.arrive && s.from && s.back;
  const SrStatus status = enough ? run(&s, chosen, stuck) : SR_NO_MEMORY;
  free(s.now);
  free(s.next);
  free(s.arrive);
  free(s.from);
  free(s.back);
  return status;
}

int
sr_search_note_cost(const SrMoves* const moves, const SrChosen* const chosen, const size_t i)
{
  const SrChoice* const choice = &moves->choices[i];
  const SrWay* const way = &choice->ways[chosen[i].way];
  const int moved = choice->use + chosen[i].air * SR_AIR_STEP;
  const int after = chosen[i].before + (way->direction == SR_DIRECTION_PRESS ? -moved : moved);
  int cost = way->own_cost + sr_moves_air_cost(moves, i, chosen[i].air, after) +
             sr_moves_room_cost(moves, way->direction, after);
  if (i > 0) {
    const SrWay* const from = &moves->choices[i - 1].ways[chosen[i - 1].way];
    cost += sr_moves_step_cost(moves, i, from, way);
  }
  return cost;
}

long
sr_search_cost(const SrMoves* const moves, const SrAvoid* const avoid, const SrChosen* const chosen)
{
  const Search s = {.moves = moves, .avoid = avoid};
  long cost = 0;
  for (size_t i = 0; i < moves->count; ++i) {
    cost += sr_search_note_cost(moves, chosen, i);
    cost += avoid_cost(&s, i, &moves->choices[i].ways[chosen[i].way]);
  }
  return cost;
}
