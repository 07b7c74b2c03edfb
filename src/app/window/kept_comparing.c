// SPDX-License-Identifier: GPL-3.0-or-later

#include "kept_comparing.h"

#include "../beside_takes.h"
#include "owned_task.h"
#include "take_phrase.h"

/// Kept takes that are offered.
#define KEPT 2u

/// Kept takes being read.
typedef struct {
  SrTwoTakesView* view;
  SrChosen* chosen;      ///< NULL until it was read
  SrTakePhrase phrase;   ///< Of which it is, if it is still to be read
  SrComparedTake* shown; ///< The round that was shown; NULL for none
  SrComparedTake* kept[KEPT];
  size_t count;
  bool turned;   ///< The first is the latest
  SrError error; ///< Why there are none; SR_OK if there is no reason
} Reading;

static void
free_reading(void* const data)
{
  Reading* const reading = (Reading*)data;
  for (size_t i = 0; i < reading->count; ++i) {
    sr_compared_take_unref(reading->kept[i]);
  }
  sr_compared_take_unref(reading->shown);
  sr_chosen_unref(reading->chosen);
  sr_take_phrase_clear(&reading->phrase);
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
  SrBesideTake takes[KEPT];
  if (!reading->chosen) {
    reading->chosen = sr_take_phrase_read(&reading->phrase, &reading->error);
  }
  const size_t count = reading->chosen ? sr_beside_kept(reading->chosen->phrase, takes) : 0;
  for (size_t i = 0; i < count; ++i) {
    SrComparedTake* const take =
        sr_compared_take_read(reading->chosen, takes[i].path, takes[i].name, &reading->error);
    if (take) {
      reading->turned |= reading->count == 0 && takes[i].latest;
      reading->kept[reading->count++] = take;
    }
    sr_beside_take_clear(&takes[i]);
  }
  g_task_return_boolean(task, TRUE);
}

static void
show_kept(const Reading* const reading, SrTwoTakesView* const view)
{
  if (reading->count && reading->shown) {
    sr_two_takes_view_show(view, reading->kept[0], reading->shown);
  } else if (reading->count == KEPT) {
    sr_two_takes_view_show(view, reading->kept[reading->turned ? 1 : 0],
                           reading->kept[reading->turned ? 0 : 1]);
  } else {
    sr_two_takes_view_say(view, reading->error.status != SR_OK
                                    ? reading->error.message
                                    : "There are no two to set side by side yet: play the "
                                      "phrase once more.");
  }
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
    show_kept(reading, view);
  }
  g_object_unref(view);
}

/// Takes `reading`.
static void
begin(Reading* const reading, SrTwoTakesView* const view)
{
  reading->view = SR_TWO_TAKES_VIEW(g_object_ref(view));
  sr_two_takes_view_say(view, "Reading your kept takes of this phrase");
  GTask* const task = g_task_new(NULL, NULL, offer_kept, NULL);
  g_task_set_task_data(task, reading, free_reading);
  g_task_run_in_thread(task, read_kept);
  g_object_unref(task);
}

void
sr_kept_comparing_begin(SrTwoTakesView* const view, SrChosen* const chosen,
                        SrComparedTake* const shown)
{
  Reading* const reading = g_new0(Reading, 1);
  reading->chosen = sr_chosen_ref(chosen);
  reading->shown = shown ? sr_compared_take_ref(shown) : NULL;
  begin(reading, view);
}

void
sr_kept_comparing_begin_phrase(SrTwoTakesView* const view, const SrHistoryPhrase* const phrase)
{
  Reading* const reading = g_new0(Reading, 1);
  reading->phrase = sr_take_phrase_of(phrase);
  begin(reading, view);
}

static void
free_chosen(void* const chosen)
{
  sr_chosen_unref((SrChosen*)chosen);
}

static void
count_kept(GTask* const task, void* const source, void* const data, GCancellable* const cancellable)
{
  (void)source;
  (void)cancellable;
  SrBesideTake takes[KEPT];
  const size_t count = sr_beside_kept(((const SrChosen*)data)->phrase, takes);
  for (size_t i = 0; i < count; ++i) {
    sr_beside_take_clear(&takes[i]);
  }
  g_task_return_int(task, (gssize)count);
}

void
sr_kept_counting_begin(GObject* const owner, SrChosen* const chosen, const GAsyncReadyCallback done)
{
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_set_task_data(task, sr_chosen_ref(chosen), free_chosen);
  g_task_run_in_thread(task, count_kept);
  g_object_unref(task);
}

const SrChosen*
sr_kept_counting_chosen(GAsyncResult* const result)
{
  return (const SrChosen*)g_task_get_task_data(G_TASK(result));
}

size_t
sr_kept_counting_finish(GAsyncResult* const result)
{
  const gssize count = g_task_propagate_int(G_TASK(result), NULL);
  return count > 0 ? (size_t)count : 0;
}
