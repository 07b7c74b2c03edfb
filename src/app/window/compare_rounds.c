// SPDX-License-Identifier: GPL-3.0-or-later

// A round of this sitting, set beside another one, or beside the best or the latest kept take of
// the phrase, which are read on another thread.

#include "../beside_takes.h"
#include "practise_window_parts.h"
#include "two_takes_view.h"

#include <steadyreed/history.h>

#include <string.h>

/// Kept takes that are offered.
#define KEPT 2u

/// Kept takes being read.
typedef struct {
  SrTwoTakesView* view;
  SrComparedTake* shown; ///< The round that was shown
  SrComparedTake* kept[KEPT];
  size_t count;
} Reading;

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
free_reading(void* const data)
{
  Reading* const reading = (Reading*)data;
  for (size_t i = 0; i < reading->count; ++i) {
    sr_compared_take_unref(reading->kept[i]);
  }
  sr_compared_take_unref(reading->shown);
  g_clear_object(&reading->view);
  g_free(reading);
}

/// Read and judge the kept takes. One that cannot be judged is not offered.
static void
read_kept(GTask* const task, void* const source, void* const data, GCancellable* const cancellable)
{
  (void)source;
  (void)cancellable;
  Reading* const reading = (Reading*)data;
  SrChosen* const chosen = reading->shown->held->chosen;
  SrBesideTake takes[KEPT];
  const size_t count = sr_beside_kept(chosen->phrase, takes);
  for (size_t i = 0; i < count; ++i) {
    SrError error = {0};
    SrComparedTake* const take =
        sr_compared_take_read(chosen, takes[i].path, takes[i].name, &error);
    if (take) {
      reading->kept[reading->count++] = take;
    }
    sr_beside_take_clear(&takes[i]);
  }
  g_task_return_boolean(task, TRUE);
}

static void
offer_kept(GObject* const object, GAsyncResult* const result, void* const unused)
{
  (void)object;
  (void)unused;
  Reading* const reading = (Reading*)g_task_get_task_data(G_TASK(result));
  // The other thread may be the last to let go of the reading, and a window must not end there
  SrTwoTakesView* const view = (SrTwoTakesView*)g_steal_pointer(&reading->view);
  // It may have been closed since
  const bool open = gtk_widget_get_visible(GTK_WIDGET(view));
  for (size_t i = 0; open && i < reading->count; ++i) {
    sr_two_takes_view_offer(view, reading->kept[i]);
  }
  if (open && !sr_two_takes_view_shows(view)) {
    if (reading->count) {
      sr_two_takes_view_show(view, reading->kept[0], reading->shown);
    } else {
      sr_two_takes_view_say(view, "There is nothing to set beside it yet: play the phrase "
                                  "once more.");
    }
  }
  g_object_unref(view);
}

static void
begin_reading(SrTwoTakesView* const view, SrComparedTake* const shown)
{
  Reading* const reading = g_new0(Reading, 1);
  reading->view = SR_TWO_TAKES_VIEW(g_object_ref(view));
  reading->shown = sr_compared_take_ref(shown);
  GTask* const task = g_task_new(NULL, NULL, offer_kept, NULL);
  g_task_set_task_data(task, reading, free_reading);
  g_task_run_in_thread(task, read_kept);
  g_object_unref(task);
}

bool
sr_compare_rounds_can(SrPractiseWindow* const window)
{
  return sr_practise_window_round(window) != NULL;
}

void
sr_compare_rounds(SrPractiseWindow* const window)
{
  SrHeldRound* const shown = sr_practise_window_round(window);
  SrHeldRound* const other = find_other(window);
  if (!shown) {
    return;
  }
  SrTwoTakesView* const view =
      SR_TWO_TAKES_VIEW(sr_two_takes_view_new(GTK_WINDOW(window), window->sitting));
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
  } else {
    sr_two_takes_view_say(view, "Reading your kept takes of this phrase");
  }
  if (sr_sitting_phase(window->sitting) == SR_SITTING_RESTING) {
    // What is heard in the view is no playing by which the player goes on
    sr_sitting_end(window->sitting);
  }
  gtk_window_present(GTK_WINDOW(view));
  begin_reading(view, own);
  sr_compared_take_unref(first);
  sr_compared_take_unref(second);
  sr_compared_take_unref(own);
}
