// SPDX-License-Identifier: GPL-3.0-or-later

#include "repeat_consistency.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Fewest searches for one path.
#define LEAST_SEARCHES 20u
/// Most rounds of fixing everything that differs.
#define MOST_DIVES 4u
/// A kind that stands only once, or whose price is paid.
#define NO_PLACE SIZE_MAX

/// One bar as played.
typedef struct {
  size_t first; ///< Its first note
  size_t count;
  size_t kind;  ///< Index of the first bar written like it
  size_t alike; ///< Of the first one: bars of its kind
} Bar;

struct SrBarKindsImpl {
  const SrMoves* moves;
  Bar* bars;
  size_t count;
  size_t* places;     ///< For each bar that is the first of its kind: index of its first note among
                      ///< all notes that can be fixed; NO_PLACE if it stands once
  size_t place_count; ///< Notes that can be fixed
};

/// Whether two notes offer the same choice, regardless of what precedes them.
static bool
same_choice(const SrChoice* const a, const SrChoice* const b)
{
  if (a->way_count != b->way_count || fabs(a->seconds - b->seconds) > 1e-9) {
    return false;
  }
  for (size_t w = 0; w < a->way_count; ++w) {
    if (a->ways[w].button != b->ways[w].button || a->ways[w].direction != b->ways[w].direction ||
        a->ways[w].finger != b->ways[w].finger) {
      return false;
    }
  }
  return true;
}

static bool
same_bar(const SrMoves* const moves, const Bar* const a, const Bar* const b)
{
  bool same = a->count == b->count;
  for (size_t i = 0; same && i < a->count; ++i) {
    same = same_choice(&moves->choices[a->first + i], &moves->choices[b->first + i]);
  }
  return same;
}

static void
find_kinds(SrBarKinds* const k)
{
  for (size_t i = 0; i < k->moves->count; ++i) {
    if (i == 0 || k->moves->choices[i].bar != k->moves->choices[i - 1].bar) {
      k->bars[k->count++] = (Bar){.first = i};
    }
    ++k->bars[k->count - 1].count;
  }
  for (size_t b = 0; b < k->count; ++b) {
    size_t like = 0;
    while (like < b &&
           (k->bars[like].kind != like || !same_bar(k->moves, &k->bars[like], &k->bars[b]))) {
      ++like;
    }
    k->bars[b].kind = like;
    ++k->bars[like].alike;
  }
  for (size_t b = 0; b < k->count; ++b) {
    k->places[b] = NO_PLACE;
    if (k->bars[b].alike > 1) {
      k->places[b] = k->place_count;
      k->place_count += k->bars[b].count;
    }
  }
}

SrBarKinds*
sr_bar_kinds_new(const SrMoves* const moves)
{
  SrBarKinds* const k = (SrBarKinds*)calloc(1, sizeof(SrBarKinds));
  if (k) {
    k->moves = moves;
    k->bars = (Bar*)calloc(moves->count, sizeof(Bar));
    k->places = (size_t*)calloc(moves->count, sizeof(size_t));
  }
  if (k && (!k->bars || !k->places)) {
    sr_bar_kinds_del(k);
    return NULL;
  }
  if (k) {
    find_kinds(k);
  }
  return k;
}

void
sr_bar_kinds_del(SrBarKinds* const kinds)
{
  if (kinds) {
    free(kinds->bars);
    free(kinds->places);
    free(kinds);
  }
}

/// The first note of a kind's bar at which its bars differ in a path; the bar's length if none.
static size_t
first_difference(const SrBarKinds* const k, const size_t kind, const SrChosen* const chosen)
{
  const Bar* const model = &k->bars[kind];
  size_t least = model->count;
  for (size_t b = kind + 1; b < k->count; ++b) {
    for (size_t i = 0; k->bars[b].kind == kind && i < least; ++i) {
      if (chosen[model->first + i].way != chosen[k->bars[b].first + i].way) {
        least = i;
      }
    }
  }
  return least;
}

static bool
is_unlike(const SrBarKinds* const k, const size_t kind, const SrChosen* const chosen)
{
  return k->places[kind] != NO_PLACE && first_difference(k, kind, chosen) < k->bars[kind].count;
}

static long
price_of(const SrBarKinds* const k, const size_t kind)
{
  return (long)k->moves->settings->style.unlike * (long)(k->bars[kind].alike - 1);
}

long
sr_bar_kinds_cost(const SrBarKinds* const kinds, const SrChosen* const chosen)
{
  long cost = 0;
  for (size_t b = 0; b < kinds->count; ++b) {
    cost += is_unlike(kinds, b, chosen) ? price_of(kinds, b) : 0;
  }
  return cost;
}

// Branch and bound -------------------------------------------------------------------------------

/// Some notes fixed, some kinds paid for.
typedef struct Branch {
  struct Branch* next; ///< The branch with the next higher bound
  uint32_t* allowed;   ///< Ways by place
  bool* paid;          ///< By kind, the index of its first bar
  SrChosen* chosen;    ///< The cheapest path under these conditions
  long bound;          ///< Its cost, and the price of the kinds paid for
} Branch;

typedef struct {
  SrSearch* search;
  const SrBarKinds* kinds;
  const int* extra;
  uint32_t* allowed; ///< By note
  Branch* open;      ///< By rising bound
  size_t searches;
  SrChosen* best;
  long best_cost;
  size_t stuck;
  bool out_of_memory;
} Tree;

static void
branch_del(Branch* const branch)
{
  if (branch) {
    free(branch->allowed);
    free(branch->paid);
    free(branch->chosen);
    free(branch);
  }
}

/// A copy of a branch's conditions; those of the root for NULL.
static Branch*
branch_new(Tree* const t, const Branch* const from)
{
  const SrBarKinds* const k = t->kinds;
  Branch* const branch = (Branch*)calloc(1, sizeof(Branch));
  if (branch) {
    branch->allowed = (uint32_t*)malloc((k->place_count + 1) * sizeof(uint32_t));
    branch->paid = (bool*)calloc(k->count, sizeof(bool));
    branch->chosen = (SrChosen*)malloc(k->moves->count * sizeof(SrChosen));
  }
  if (!branch || !branch->allowed || !branch->paid || !branch->chosen) {
    branch_del(branch);
    t->out_of_memory = true;
    return NULL;
  }
  for (size_t p = 0; p < k->place_count; ++p) {
    branch->allowed[p] = from ? from->allowed[p] : SR_ALL_WAYS;
  }
  if (from) {
    memcpy(branch->paid, from->paid, k->count * sizeof(bool));
  }
  return branch;
}

/// The ways allowed at each note under a branch's conditions.
static void
allow(Tree* const t, const Branch* const branch)
{
  const SrBarKinds* const k = t->kinds;
  for (size_t b = 0; b < k->count; ++b) {
    const size_t kind = k->bars[b].kind;
    const size_t place = k->places[kind];
    const bool bound = place != NO_PLACE && !branch->paid[kind];
    for (size_t i = 0; i < k->bars[b].count; ++i) {
      t->allowed[k->bars[b].first + i] = bound ? branch->allowed[place + i] : SR_ALL_WAYS;
    }
  }
}

/// Put a branch in its order.
static void
insert(Tree* const t, Branch* const branch)
{
  Branch** at = &t->open;
  while (*at && (*at)->bound <= branch->bound) {
    at = &(*at)->next;
  }
  branch->next = *at;
  *at = branch;
}

/// Search under a branch's conditions. False if there is no path.
static bool
solve(Tree* const t, Branch* const branch)
{
  ++t->searches;
  allow(t, branch);
  size_t stuck = 0;
  const long cost = sr_search_run(t->search, t->extra, t->allowed, branch->chosen, &stuck);
  if (cost < 0) {
    t->stuck = t->best_cost == LONG_MAX ? stuck : t->stuck;
    return false;
  }
  branch->bound = cost;
  for (size_t b = 0; b < t->kinds->count; ++b) {
    branch->bound += branch->paid[b] ? price_of(t->kinds, b) : 0;
  }
  const long whole = cost + sr_bar_kinds_cost(t->kinds, branch->chosen);
  if (whole < t->best_cost) {
    t->best_cost = whole;
    memcpy(t->best, branch->chosen, t->kinds->moves->count * sizeof(SrChosen));
  }
  return true;
}

/// Search under a branch's conditions; keeps it if it may still hold the best path.
static void
evaluate(Tree* const t, Branch* const branch)
{
  if (branch && solve(t, branch) && branch->bound < t->best_cost) {
    insert(t, branch);
  } else {
    branch_del(branch);
  }
}

/// The way that most bars of a kind use at a note.
static size_t
usual_way(const SrBarKinds* const k, const size_t kind, const size_t at,
          const SrChosen* const chosen)
{
  size_t counts[SR_MOST_WAYS] = {0};
  size_t best = 0;
  for (size_t b = kind; b < k->count; ++b) {
    if (k->bars[b].kind == kind) {
      const size_t way = chosen[k->bars[b].first + at].way;
      best = ++counts[way] > counts[best] ? way : best;
    }
  }
  return best;
}

/// Fix every kind whose bars differ to what most of its bars do, for a good path at once.
static void
dive(Tree* const t, const Branch* const from)
{
  const SrBarKinds* const k = t->kinds;
  Branch* const branch = branch_new(t, from);
  bool differs = branch;
  if (branch) {
    memcpy(branch->chosen, from->chosen, k->moves->count * sizeof(SrChosen));
  }
  for (size_t round = 0; differs && round < MOST_DIVES; ++round) {
    differs = false;
    for (size_t b = 0; b < k->count; ++b) {
      if (!branch->paid[b] && is_unlike(k, b, branch->chosen)) {
        differs = true;
        for (size_t i = 0; i < k->bars[b].count; ++i) {
          branch->allowed[k->places[b] + i] = 1u << usual_way(k, b, i, branch->chosen);
        }
      }
    }
    differs = differs && solve(t, branch);
  }
  branch_del(branch);
}

/// The kind to branch on: the dearest that differs and is not paid for; the bar count if none.
static size_t
kind_to_branch(const Tree* const t, const Branch* const branch)
{
  size_t best = t->kinds->count;
  long most = -1;
  for (size_t b = 0; b < t->kinds->count; ++b) {
    if (!branch->paid[b] && is_unlike(t->kinds, b, branch->chosen) &&
        price_of(t->kinds, b) > most) {
      most = price_of(t->kinds, b);
      best = b;
    }
  }
  return best;
}

/// Replace a branch by those that together hold all its paths.
static void
split(Tree* const t, const Branch* const branch, const size_t kind)
{
  const SrBarKinds* const k = t->kinds;
  const size_t at = first_difference(k, kind, branch->chosen);
  const size_t place = k->places[kind] + at;
  uint32_t used = 0;
  for (size_t b = kind; b < k->count; ++b) {
    if (k->bars[b].kind == kind) {
      used |= 1u << branch->chosen[k->bars[b].first + at].way;
    }
  }
  const size_t ways = k->moves->choices[k->bars[kind].first + at].way_count;
  for (size_t w = 0; w < ways && !t->out_of_memory; ++w) {
    if (used >> w & 1u) {
      Branch* const one = branch_new(t, branch);
      if (one) {
        one->allowed[place] = 1u << w;
      }
      evaluate(t, one);
    }
  }
  const uint32_t others = branch->allowed[place] & ~used & ((1u << ways) - 1u);
  if (others && !t->out_of_memory) {
    Branch* const other = branch_new(t, branch);
    if (other) {
      other->allowed[place] = others;
    }
    evaluate(t, other);
  }
  if (branch->bound + price_of(k, kind) < t->best_cost && !t->out_of_memory) {
    Branch* const paid = branch_new(t, branch);
    if (paid) {
      paid->paid[kind] = true;
    }
    evaluate(t, paid);
  }
}

/// Take the open branch with the lowest bound; NULL for none.
static Branch*
pop(Tree* const t)
{
  Branch* const branch = t->open;
  if (branch) {
    t->open = branch->next;
  }
  return branch;
}

SrStatus
sr_consistent_path(SrSearch* const search, const SrBarKinds* const kinds, const int* const extra,
                   const size_t nodes, SrChosen* const chosen, size_t* const stuck,
                   bool* const proven)
{
  Tree t = {.search = search,
            .kinds = kinds,
            .extra = extra,
            .best = chosen,
            .best_cost = LONG_MAX,
            .allowed = (uint32_t*)malloc(kinds->moves->count * sizeof(uint32_t))};
  t.out_of_memory = !t.allowed;
  *proven = true;
  const size_t at_once = sr_search_nodes(search);
  const size_t most = at_once * LEAST_SEARCHES > nodes ? LEAST_SEARCHES : nodes / at_once;
  if (t.allowed) {
    evaluate(&t, branch_new(&t, NULL));
  }
  if (t.open) {
    dive(&t, t.open);
  }
  // NOLINTNEXTLINE(clang-analyzer-unix.Malloc): the list is emptied; the analyser stops before it
  for (Branch* branch = pop(&t); branch; branch = pop(&t)) {
    const size_t kind = kind_to_branch(&t, branch);
    const bool better = branch->bound < t.best_cost && kind < kinds->count;
    *proven = *proven && (!better || t.searches < most);
    if (better && t.searches < most && !t.out_of_memory) {
      split(&t, branch, kind);
    }
    branch_del(branch);
  }
  free(t.allowed);
  if (t.out_of_memory) {
    return SR_NO_MEMORY;
  }
  *stuck = t.stuck;
  return t.best_cost == LONG_MAX ? SR_UNSUPPORTED : SR_OK;
}
