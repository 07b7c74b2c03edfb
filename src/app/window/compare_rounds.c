// SPDX-License-Identifier: GPL-3.0-or-later

// A round of this sitting, set beside another one or beside a kept take of the phrase; before a
// round was played, two kept takes.

#include "kept_comparing.h"
#include "practise_window_parts.h"

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

static void
take_count(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)unused;
  SrPractiseWindow* const window = SR_PRACTISE_WINDOW(object);
  const SrChosen* const chosen = sr_kept_counting_chosen(result);
  // Another phrase may have been chosen since, or the window closed
  if (window->chosen == chosen) {
    window->kept = sr_kept_counting_finish(result);
    sr_window_actions_update(window);
  }
}

void
sr_compare_rounds_look(SrPractiseWindow* const window)
{
  window->kept = 0;
  sr_kept_counting_begin(G_OBJECT(window), window->chosen, take_count);
}

bool
sr_compare_rounds_can(SrPractiseWindow* const window)
{
  return sr_practise_window_round(window) || (window->chosen && window->kept > 1);
}

/// What is heard in the view is no playing by which the player goes on.
static void
open_view(SrPractiseWindow* const window, SrTwoTakesView* const view)
{
  if (sr_sitting_phase(window->sitting) == SR_SITTING_RESTING) {
    sr_sitting_end(window->sitting);
  }
  gtk_window_present(GTK_WINDOW(view));
}

void
sr_compare_rounds(SrPractiseWindow* const window)
{
  SrHeldRound* const shown = sr_practise_window_round(window);
  SrHeldRound* const other = find_other(window);
  if (!sr_compare_rounds_can(window)) {
    return;
  }
  SrTwoTakesView* const view =
      SR_TWO_TAKES_VIEW(sr_two_takes_view_new(GTK_WINDOW(window), window->sitting));
  if (!shown) {
    open_view(window, view);
    sr_kept_comparing_begin(view, window->chosen, NULL);
    return;
  }
  const GPtrArray* const rounds = sr_sitting_rounds(window->sitting);
  SrComparedTake* first = NULL;
  SrComparedTake* second = NULL;
  SrComparedTake* own = NULL;
  for (guint i = 0; i < rounds->len; ++i) {
    SrHeldRound* const held = (SrHeldRound*)g_ptr_array_index(rounds, i);
    if (!is_same_phrase(held, shown)) {
      continue;
    }
    // The earlier one is the first
    SrComparedTake* const take = sr_compared_take_of_round(held);
    sr_two_takes_view_offer(view, take);
    own = held == shown ? sr_compared_take_ref(take) : own;
    if (held == shown || held == other) {
      SrComparedTake** const place = first ? &second : &first;
      *place = sr_compared_take_ref(take);
    }
    sr_compared_take_unref(take);
  }
  if (first && second) {
    sr_two_takes_view_show(view, first, second);
  }
  open_view(window, view);
  sr_kept_comparing_begin(view, shown->chosen, own);
  sr_compared_take_unref(first);
  sr_compared_take_unref(second);
  sr_compared_take_unref(own);
}
