// SPDX-License-Identifier: GPL-3.0-or-later

// Two rounds of this sitting, set side by side.

#include "practise_window_parts.h"
#include "two_takes_view.h"

#include <steadyreed/history.h>

#include <string.h>

/// Whether two rounds are of the same notes.
static bool
is_same_phrase(const SrHeldRound* const one, const SrHeldRound* const other)
{
  char identity[2][SR_IDENTITY_SIZE];
  if (one->chosen == other->chosen) {
    return true;
  }
  sr_phrase_identity(one->chosen->phrase, identity[0]);
  sr_phrase_identity(other->chosen->phrase, identity[1]);
  return !strcmp(identity[0], identity[1]);
}

/// The round to set beside the one shown: the one before it, or else the one after it, of the same
/// notes; NULL if there is none.
static SrHeldRound*
find_other(SrPractiseWindow* const window)
{
  const GPtrArray* const rounds = sr_sitting_rounds(window->sitting);
  const SrHeldRound* const shown = sr_practise_window_round(window);
  SrHeldRound* found = NULL;
  for (guint i = 0; shown && i < rounds->len && (i < window->shown || !found); ++i) {
    SrHeldRound* const held = (SrHeldRound*)g_ptr_array_index(rounds, i);
    found = held != shown && is_same_phrase(held, shown) ? held : found;
  }
  return found;
}

bool
sr_compare_rounds_can(SrPractiseWindow* const window)
{
  return find_other(window) != NULL;
}

void
sr_compare_rounds(SrPractiseWindow* const window)
{
  SrHeldRound* const shown = sr_practise_window_round(window);
  SrHeldRound* const other = find_other(window);
  if (!shown || !other) {
    return;
  }
  SrTwoTakesView* const view =
      SR_TWO_TAKES_VIEW(sr_two_takes_view_new(GTK_WINDOW(window), window->sitting));
  const GPtrArray* const rounds = sr_sitting_rounds(window->sitting);
  SrComparedTake* first = NULL;
  SrComparedTake* second = NULL;
  for (guint i = 0; i < rounds->len; ++i) {
    SrHeldRound* const held = (SrHeldRound*)g_ptr_array_index(rounds, i);
    if (!is_same_phrase(held, shown)) {
      continue;
    }
    // The earlier one is the first
    SrComparedTake* const take = sr_compared_take_of_round(held);
    sr_two_takes_view_offer(view, take);
    if (held == shown || held == other) {
      SrComparedTake** const place = first ? &second : &first;
      *place = sr_compared_take_ref(take);
    }
    sr_compared_take_unref(take);
  }
  if (first && second) {
    sr_two_takes_view_show(view, first, second);
  }
  sr_compared_take_unref(first);
  sr_compared_take_unref(second);
  gtk_window_present(GTK_WINDOW(view));
}
