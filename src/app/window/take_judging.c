// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_judging.h"

#include "owned_task.h"
#include "take_phrase.h"

#include <steadyreed/judged_take.h>

typedef struct {
  char* path;
  SrTakePhrase phrase;
} Order;

static void
free_order(void* const data)
{
  Order* const order = (Order*)data;
  g_free(order->path);
  sr_take_phrase_clear(&order->phrase);
  g_free(order);
}

void
sr_take_verdict_free(SrTakeVerdict* const verdict)
{
  if (verdict) {
    g_ptr_array_unref(verdict->rounds);
    g_free(verdict);
  }
}

static void
free_verdict(void* const verdict)
{
  sr_take_verdict_free((SrTakeVerdict*)verdict);
}

static void
judge(const Order* const order, SrChosen* const chosen, SrTakeVerdict* const verdict)
{
  SrJudgeSettings settings = sr_judge_settings_default();
  SrJudgedTake take;
  settings.places = (const char* const*)chosen->places;
  if (sr_judged_take_make(chosen->phrase, order->path, &settings, true, &take) != SR_OK) {
    verdict->error = take.error;
  } else if (take.phrase) {
    (void)sr_error_set(&verdict->error, SR_BAD_ARGUMENT,
                       "It fits its phrase in another key only; `steadyreed assess` judges that.");
  } else if (take.assessment->round_count == 0) {
    (void)sr_error_set(&verdict->error, SR_NOT_FOUND, "No whole round is in it.");
  } else {
    SrHeldRound* const first = sr_held_round_new(chosen, take.assessment);
    for (size_t i = 0; i < take.assessment->round_count; ++i) {
      g_ptr_array_add(verdict->rounds, sr_held_round_of(first, i));
    }
    sr_held_round_unref(first);
    take.assessment = NULL;
  }
  sr_judged_take_clear(&take);
}

static void
judge_take(GTask* const task, void* const owner, void* const data, GCancellable* const cancellable)
{
  (void)owner;
  (void)cancellable;
  Order* const order = (Order*)data;
  SrTakeVerdict* const verdict = g_new0(SrTakeVerdict, 1);
  verdict->rounds = g_ptr_array_new_with_free_func((GDestroyNotify)sr_held_round_unref);
  SrChosen* const chosen = sr_take_phrase_read(&order->phrase, &verdict->error);
  if (chosen) {
    judge(order, chosen, verdict);
  }
  sr_chosen_unref(chosen);
  g_task_return_pointer(task, verdict, free_verdict);
}

void
sr_take_judging_begin(GObject* const owner, const char* const path,
                      const SrHistoryPhrase* const phrase, const GAsyncReadyCallback done)
{
  Order* const order = g_new0(Order, 1);
  order->path = g_strdup(path);
  order->phrase = sr_take_phrase_of(phrase);
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_set_task_data(task, order, free_order);
  g_task_run_in_thread(task, judge_take);
  g_object_unref(task);
}

SrTakeVerdict*
sr_take_judging_finish(GAsyncResult* const result)
{
  return (SrTakeVerdict*)g_task_propagate_pointer(G_TASK(result), NULL);
}
