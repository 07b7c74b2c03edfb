// SPDX-License-Identifier: GPL-3.0-or-later

#include "alike.h"

#include <stdlib.h>
#include <string.h>

/// Most ways tried for one kind of bar.
#define MOST_TRIED 4u
/// Most searches in all, so that the time is linear in the length of the phrase.
#define MOST_SEARCHES 8u

/// One bar as played.
typedef struct {
  size_t first; ///< Its first note
  size_t count;
  size_t kind; ///< Index of the first bar written like it
} Bar;

typedef struct {
  const SrMoves* moves;
  const SrAvoid* avoid;
  SrChosen* chosen; ///< The plan so far
  long cost;
  size_t searches; ///< Done so far
  Bar* bars;
  size_t count;
  size_t* fixed;
  size_t* tried_fixed;
  SrChosen* tried;
  size_t* cheapest; ///< The ways in the original plan
} Alike;

/// Whether two notes offer the same choice, regardless of what precedes them.
static bool
same_choice(const SrChoice* const a, const SrChoice* const b)
{
  if (a->way_count != b->way_count || a->use != b->use || a->on_pulse != b->on_pulse) {
    return false;
  }
  for (size_t w = 0; w < a->way_count; ++w) {
    if (a->ways[w].button != b->ways[w].button || a->ways[w].direction != b->ways[w].direction ||
        a->ways[w].cut_button != b->ways[w].cut_button) {
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

static bool
played_alike(const SrChosen* const chosen, const Bar* const a, const Bar* const b)
{
  bool same = true;
  for (size_t i = 0; same && i < a->count; ++i) {
    same = chosen[a->first + i].way == chosen[b->first + i].way;
  }
  return same;
}

/// Find the bars, and for each the first one like it.
static void
find_bars(Alike* const a)
{
  const SrPhrase* const phrase = a->moves->phrase;
  for (size_t i = 0; i < a->moves->count; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const SrPhraseNote* const before = i > 0 ? sr_phrase_note(phrase, i - 1) : NULL;
    // A repeat of a single bar starts again with the same number
    if (!before || before->bar != note->bar ||
        sr_fraction_value(before->in_bar) >= sr_fraction_value(note->in_bar)) {
      a->bars[a->count++] = (Bar){.first = i};
    }
    ++a->bars[a->count - 1].count;
  }
  for (size_t b = 0; b < a->count; ++b) {
    size_t like = 0;
    while (like < b && !same_bar(a->moves, &a->bars[like], &a->bars[b])) {
      ++like;
    }
    a->bars[b].kind = like;
  }
}

/// Fix all bars of a kind to the way `model` is played; returns how many others that changes.
static size_t
fix_kind(const Alike* const a, const size_t model, size_t* const fixed)
{
  const Bar* const bar = &a->bars[model];
  size_t changed = 0;
  for (size_t b = bar->kind; b < a->count; ++b) {
    if (a->bars[b].kind == bar->kind) {
      changed += played_alike(a->chosen, bar, &a->bars[b]) ? 0 : 1;
      for (size_t i = 0; i < bar->count; ++i) {
        fixed[a->bars[b].first + i] = a->chosen[bar->first + i].way;
      }
    }
  }
  return changed;
}

/// Number of bars played like `model`.
static size_t
count_alike(const Alike* const a, const size_t model)
{
  size_t count = 0;
  for (size_t b = a->bars[model].kind; b < a->count; ++b) {
    count += a->bars[b].kind == a->bars[model].kind &&
             played_alike(a->chosen, &a->bars[model], &a->bars[b]);
  }
  return count;
}

/// The ways a kind of bar is played, most frequent first, each given by the first bar played so.
static size_t
ways_of_kind(const Alike* const a, const size_t kind, size_t models[MOST_TRIED])
{
  size_t counts[MOST_TRIED];
  size_t found = 0;
  for (size_t b = kind; b < a->count; ++b) {
    bool other = a->bars[b].kind == kind;
    for (size_t m = 0; m < found && other; ++m) {
      other = !played_alike(a->chosen, &a->bars[models[m]], &a->bars[b]);
    }
    if (!other || found == MOST_TRIED) {
      continue;
    }
    const size_t alike = count_alike(a, b);
    size_t place = found++;
    for (; place > 0 && counts[place - 1] < alike; --place) {
      counts[place] = counts[place - 1];
      models[place] = models[place - 1];
    }
    counts[place] = alike;
    models[place] = b;
  }
  return found;
}

/**
   Search with `tried_fixed`, which changes `changed` bars; accept the result if the extra cost is
   within the limit.
*/
static bool
try_fixed(Alike* const a, const size_t changed)
{
  size_t stuck;
  long cost = 0;
  ++a->searches;
  if (sr_search(a->moves, a->avoid, a->tried_fixed, a->tried, &stuck) != SR_OK) {
    return false;
  }
  cost = sr_search_cost(a->moves, a->avoid, a->tried);
  if (cost > a->cost + (long)a->moves->settings->style.unlike * (long)changed) {
    return false;
  }
  a->cost = cost;
  memcpy(a->chosen, a->tried, a->moves->count * sizeof(SrChosen));
  memcpy(a->fixed, a->tried_fixed, a->moves->count * sizeof(size_t));
  return true;
}

/// Try all kinds at once, each in its most frequent way.
static bool
try_all(Alike* const a)
{
  size_t changed = 0;
  for (size_t b = 0; b < a->count; ++b) {
    size_t models[MOST_TRIED];
    if (a->bars[b].kind == b && ways_of_kind(a, b, models) > 0) {
      changed += fix_kind(a, models[0], a->tried_fixed);
    }
  }
  return changed == 0 || try_fixed(a, changed);
}

/// Try one kind after another, keeping those already played alike.
static void
try_each(Alike* const a)
{
  for (size_t b = 0; b < a->count; ++b) {
    size_t models[MOST_TRIED];
    if (a->bars[b].kind == b && ways_of_kind(a, b, models) == 1) {
      (void)fix_kind(a, b, a->fixed);
    }
  }
  for (size_t b = 0; b < a->count; ++b) {
    size_t models[MOST_TRIED];
    const size_t ways = a->bars[b].kind == b ? ways_of_kind(a, b, models) : 0;
    bool done = ways < 2;
    for (size_t m = 0; m < ways && !done && a->searches < MOST_SEARCHES; ++m) {
      memcpy(a->tried_fixed, a->fixed, a->moves->count * sizeof(size_t));
      const size_t changed = fix_kind(a, models[m], a->tried_fixed);
      done = try_fixed(a, changed);
    }
  }
}

SrStatus
sr_alike(const SrMoves* const moves, const SrAvoid* const avoid, SrChosen* const chosen)
{
  if (moves->settings->style.unlike == 0) {
    return SR_OK;
  }
  Alike a = {.moves = moves, .avoid = avoid, .chosen = chosen};
  a.bars = (Bar*)calloc(moves->count, sizeof(Bar));
  a.fixed = (size_t*)malloc(moves->count * sizeof(size_t));
  a.tried_fixed = (size_t*)malloc(moves->count * sizeof(size_t));
  a.cheapest = (size_t*)malloc(moves->count * sizeof(size_t));
  a.tried = (SrChosen*)malloc(moves->count * sizeof(SrChosen));
  const bool enough = a.bars && a.fixed && a.tried_fixed && a.cheapest && a.tried;
  if (enough) {
    for (size_t i = 0; i < moves->count; ++i) {
      a.fixed[i] = SR_ANY_WAY;
      a.tried_fixed[i] = SR_ANY_WAY;
      a.cheapest[i] = chosen[i].way;
    }
    a.cost = sr_search_cost(moves, avoid, chosen);
    find_bars(&a);
    if (!try_all(&a)) {
      try_each(&a);
    }
    for (size_t i = 0; i < moves->count; ++i) {
      chosen[i].alike = chosen[i].way != a.cheapest[i];
    }
  }
  free(a.bars);
  free(a.fixed);
  free(a.tried_fixed);
  free(a.cheapest);
  free(a.tried);
  return enough ? SR_OK : SR_NO_MEMORY;
}
