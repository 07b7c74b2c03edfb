// SPDX-License-Identifier: GPL-3.0-or-later

#include "other_plans.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Share and number of notes that must have another button.
#define OTHER_SHARE (1.0 / 6.0)
#define LEAST_OTHER 2u
/// Price of a button of an earlier plan, raised in these steps until the plan differs enough; the
/// last is above any weight.
static const int prices[] = {2, 4, 8, 16, 32, 64, 128, 256, 50000};
#define PRICES (sizeof(prices) / sizeof(prices[0]))
/// Nodes looked at for each of them.
#define OTHER_NODES 200000u
/// Steps by which the price is narrowed down.
#define NARROWED 3u
/// How the price is shared between two earlier plans: evenly, more for one of them, at each second
/// pitch for one and at the other pitches for the other, or from BY_CHANCE on at notes drawn for
/// each of them.
typedef enum { EVENLY, MORE_FOR_FIRST, MORE_FOR_SECOND, BY_PITCH, BY_OTHER_PITCH, BY_CHANCE } Share;
/// Draws at the highest price, before the search is given up.
#define DRAWS 60

size_t
sr_other_plans_needed(const SrMoves* const moves)
{
  return (size_t)fmax(LEAST_OTHER, ceil(OTHER_SHARE * (double)moves->count));
}

static size_t
button_at(const SrMoves* const moves, const SrChosen* const chosen, const size_t note)
{
  return moves->choices[note].ways[chosen[note].way].button;
}

/// Whether two paths really differ.
static bool
differ(const SrMoves* const moves, const SrChosen* const a, const SrChosen* const b)
{
  size_t others = 0;
  for (size_t i = 0; i < moves->count; ++i) {
    others += button_at(moves, a, i) != button_at(moves, b, i);
  }
  return others >= sr_other_plans_needed(moves);
}

size_t
sr_other_plans_most(const SrMoves* const moves, const SrChosen* const path)
{
  size_t most = 0;
  for (size_t i = 0; i < moves->count; ++i) {
    const SrChoice* const choice = &moves->choices[i];
    bool any = false;
    for (size_t w = 0; w < choice->way_count; ++w) {
      any = any || choice->ways[w].button != button_at(moves, path, i);
    }
    most += any;
  }
  return most;
}

static bool
differs_from_all(const SrMoves* const moves, SrChosen* const* const before, const size_t count,
                 const SrChosen* const chosen)
{
  bool differs = true;
  for (size_t p = 0; differs && p < count; ++p) {
    differs = differ(moves, before[p], chosen);
  }
  return differs;
}

/// Whether a note is drawn for a plan (a multiplicative hash, Knuth 1998, section 6.4).
static bool
is_drawn(const int draw, const size_t p, const size_t note)
{
  const uint32_t mixed = (uint32_t)(note * 2u + p + 1u) * 2654435761u ^ (uint32_t)draw * 40503u;
  return (mixed * 2654435761u) >> 30 == 0;
}

/// The part of a price that the buttons of plan `p` cost at a note.
static int
part_of(const int amount, const int share, const size_t p, const size_t note, const size_t pitch)
{
  switch (share) {
  case MORE_FOR_FIRST:
    return p == 0 ? amount + amount / 2 : amount / 2;
  case MORE_FOR_SECOND:
    return p == 1 ? amount + amount / 2 : amount / 2;
  case BY_PITCH:
    return pitch % 2 == p ? amount : 0;
  case BY_OTHER_PITCH:
    return pitch % 2 != p ? amount : 0;
  case EVENLY:
    return amount;
  default:
    return is_drawn(share, p, note) ? amount : 0;
  }
}

/// Price the buttons of the plans before.
static void
price(const SrMoves* const moves, SrChosen* const* const before, const size_t count,
      const int amount, const int share, int* const extra)
{
  memset(extra, 0, moves->count * SR_MOST_WAYS * sizeof(int));
  // The pitches are counted as they first come
  size_t numbers[128] = {0};
  size_t pitches = 0;
  for (size_t i = 0; i < moves->count; ++i) {
    const SrChoice* const choice = &moves->choices[i];
    size_t* const number = &numbers[sr_phrase_note(moves->phrase, i)->midi];
    *number = *number ? *number : ++pitches;
    const size_t pitch = *number - 1;
    for (size_t p = 0; p < count; ++p) {
      const size_t theirs = button_at(moves, before[p], i);
      for (size_t w = 0; w < choice->way_count; ++w) {
        extra[i * SR_MOST_WAYS + w] +=
            choice->ways[w].button == theirs ? part_of(amount, share, p, i, pitch) : 0;
      }
    }
  }
}

typedef struct {
  SrSearch* search;
  const SrMoves* moves;
  SrChosen* const* before;
  size_t count;
  int* extra;
  SrChosen* chosen;
} Others;

/// Whether a plain search at a price differs from all plans before; leaves the price in `extra`.
static bool
suffices(const Others* const o, const int amount, const int share)
{
  size_t stuck;
  price(o->moves, o->before, o->count, amount, share, o->extra);
  return sr_search_run(o->search, o->extra, NULL, o->chosen, &stuck) >= 0 &&
         differs_from_all(o->moves, o->before, o->count, o->chosen);
}

/// The lowest price that suffices, between one that does not and one that does.
static int
narrow(const Others* const o, int low, int high, const int share)
{
  for (size_t n = 0; n < NARROWED && high - low > 1; ++n) {
    const int middle = (low + high) / 2;
    const bool enough = suffices(o, middle, share);
    low = enough ? low : middle;
    high = enough ? middle : high;
  }
  return high;
}

/// Find a path at a price that plays equal bars alike and still differs.
static SrStatus
find_at(const Others* const o, const SrBarKinds* const kinds, const int amount, const int share)
{
  size_t stuck;
  bool proven;
  price(o->moves, o->before, o->count, amount, share, o->extra);
  const SrStatus status =
      sr_consistent_path(o->search, kinds, o->extra, OTHER_NODES, o->chosen, &stuck, &proven);
  return status == SR_NO_MEMORY ? status
         : status == SR_OK && differs_from_all(o->moves, o->before, o->count, o->chosen)
             ? SR_OK
             : SR_NOT_FOUND;
}

SrStatus
sr_other_plans_find(SrSearch* const search, const SrMoves* const moves,
                    const SrBarKinds* const kinds, SrChosen* const* const before,
                    const size_t count, SrChosen* const chosen)
{
  const Others o = {.search = search,
                    .moves = moves,
                    .before = before,
                    .count = count,
                    .extra = (int*)malloc(moves->count * SR_MOST_WAYS * sizeof(int)),
                    .chosen = chosen};
  SrStatus status = o.extra ? SR_NOT_FOUND : SR_NO_MEMORY;
  for (size_t p = 0; status == SR_NOT_FOUND && p < PRICES; ++p) {
    const int shares = count < 2 ? EVENLY + 1 : p + 1 < PRICES ? BY_CHANCE : BY_CHANCE + DRAWS;
    for (int share = EVENLY; status == SR_NOT_FOUND && share < shares; ++share) {
      if (suffices(&o, prices[p], share)) {
        const int amount = narrow(&o, p > 0 ? prices[p - 1] : 0, prices[p], share);
        status = find_at(&o, kinds, amount, share);
        if (status == SR_NOT_FOUND && amount < prices[p]) {
          status = find_at(&o, kinds, prices[p], share);
        }
      }
    }
  }
  free(o.extra);
  return status;
}
