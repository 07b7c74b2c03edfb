// SPDX-License-Identifier: GPL-3.0-or-later

#include "other_plans.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Share and number of notes that must have another button.
#define OTHER_SHARE (1.0 / 6.0)
#define LEAST_OTHER 2u
/// Price of a button of an earlier plan, raised in these steps until the plan differs enough. The
/// last is above any weight: what it does not reach is not there.
static const int prices[] = {2, 4, 8, 16, 32, 64, 128, 256, 20000};
#define PRICES (sizeof(prices) / sizeof(prices[0]))
/// Steps by which the price is narrowed down.
#define NARROWED 3u
/// How the price is shared between two earlier plans, in quarters, where an even share leaves the
/// new plan too close to one of them.
static const int shares[][2] = {{2, 2}, {1, 3}, {3, 1}};
#define SHARES (sizeof(shares) / sizeof(shares[0]))

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

bool
sr_other_plans_differ(const SrMoves* const moves, const SrChosen* const a, const SrChosen* const b)
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
    differs = sr_other_plans_differ(moves, before[p], chosen);
  }
  return differs;
}

/// Price the buttons of the plans before.
static void
price(const SrMoves* const moves, SrChosen* const* const before, const size_t count,
      const int amount, const int share[2], int* const extra)
{
  memset(extra, 0, moves->count * SR_MOST_WAYS * sizeof(int));
  for (size_t i = 0; i < moves->count; ++i) {
    const SrChoice* const choice = &moves->choices[i];
    for (size_t p = 0; p < count; ++p) {
      const size_t theirs = button_at(moves, before[p], i);
      for (size_t w = 0; w < choice->way_count; ++w) {
        extra[i * SR_MOST_WAYS + w] +=
            choice->ways[w].button == theirs ? amount * share[p % 2] / 2 : 0;
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
suffices(const Others* const o, const int amount, const int share[2])
{
  size_t stuck;
  price(o->moves, o->before, o->count, amount, share, o->extra);
  return sr_search_run(o->search, o->extra, NULL, o->chosen, &stuck) >= 0 &&
         differs_from_all(o->moves, o->before, o->count, o->chosen);
}

/// The lowest price that suffices, between one that does not and one that does.
static int
narrow(const Others* const o, int low, int high, const int share[2])
{
  for (size_t n = 0; n < NARROWED && high - low > 1; ++n) {
    const int middle = (low + high) / 2;
    const bool enough = suffices(o, middle, share);
    low = enough ? low : middle;
    high = enough ? middle : high;
  }
  return high;
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
    for (size_t s = 0; status == SR_NOT_FOUND && s < (count > 1 ? SHARES : 1); ++s) {
      size_t stuck;
      long cost;
      if (!suffices(&o, prices[p], shares[s])) {
        continue;
      }
      const int amount = narrow(&o, p > 0 ? prices[p - 1] : 0, prices[p], shares[s]);
      price(moves, before, count, amount, shares[s], o.extra);
      const SrStatus found = sr_consistent_path(search, kinds, o.extra, chosen, &stuck, &cost);
      status = found != SR_OK                                   ? found
               : differs_from_all(moves, before, count, chosen) ? SR_OK
                                                                : SR_NOT_FOUND;
    }
  }
  free(o.extra);
  return status;
}
