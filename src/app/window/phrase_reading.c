// SPDX-License-Identifier: GPL-3.0-or-later

#include "phrase_reading.h"

#include "owned_task.h"

typedef struct {
  SrChoice choice;
  unsigned also; ///< Of SrReadAlso
} Order;

static void
free_order(void* const data)
{
  Order* const order = (Order*)data;
  sr_choice_clear(&order->choice);
  g_free(order);
}

static void
free_reading(void* const data)
{
  sr_phrase_reading_free((SrPhraseReading*)data);
}

static void
read_phrase(GTask* const task, void* const owner, void* const data, GCancellable* const cancellable)
{
  (void)owner;
  (void)cancellable;
  Order* const order = (Order*)data;
  const SrPhraseChoice tune = {.tune = order->choice.tune, .title = order->choice.title};
  SrPhraseReading* const reading = g_new0(SrPhraseReading, 1);
  if (order->also & SR_READ_TUNES) {
    (void)sr_tune_list_read(order->choice.path, &reading->tunes, NULL);
  }
  if (order->also & SR_READ_ASKED) {
    SrAssignment* const asked = &reading->assignment;
    (void)sr_assignment_read_file(order->choice.path, &tune, asked, NULL);
    order->choice.first_bar = asked->first_bar;
    order->choice.last_bar = asked->last_bar;
    order->choice.part = asked->part;
  }
  reading->outlined =
      sr_tune_outline_read(order->choice.path, &tune, &reading->outline, NULL) == SR_OK;
  reading->chosen = sr_chosen_new(&order->choice, &reading->error);
  g_task_return_pointer(task, reading, free_reading);
}

void
sr_phrase_reading_begin(GObject* const owner, const SrChoice* const choice, const unsigned also,
                        const GAsyncReadyCallback done)
{
  Order* const order = g_new0(Order, 1);
  order->choice = sr_choice_copy(choice);
  order->also = also;
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_set_task_data(task, order, free_order);
  g_task_run_in_thread(task, read_phrase);
  g_object_unref(task);
}

SrPhraseReading*
sr_phrase_reading_finish(GAsyncResult* const result)
{
  return (SrPhraseReading*)g_task_propagate_pointer(G_TASK(result), NULL);
}

void
sr_phrase_reading_free(SrPhraseReading* const reading)
{
  if (reading) {
    sr_tune_list_del(reading->tunes);
    sr_chosen_unref(reading->chosen);
    g_free(reading);
  }
}
