// SPDX-License-Identifier: GPL-3.0-or-later

#include "day_reading.h"

#include "owned_task.h"

void
sr_day_free(SrDay* const day)
{
  if (day) {
    sr_today_sources_clear(&day->sources);
    g_free(day);
  }
}

static void
free_day(void* const day)
{
  sr_day_free((SrDay*)day);
}

static void
read_day(GTask* const task, void* const owner, void* const data, GCancellable* const cancellable)
{
  (void)owner;
  (void)data;
  (void)cancellable;
  SrDay* const day = g_new0(SrDay, 1);
  SrTodaySources* const sources = &day->sources;
  const int today = sr_moment_day(sr_moment_now());
  if (sr_today_sources_gather(today, sources, &day->error) == SR_OK) {
    (void)sr_today_choose(sources->sources, sources->count, today, day->items, &day->count,
                          &day->error);
  }
  for (size_t i = 0; i < day->count; ++i) {
    day->today[i] = sr_today_played(sources, &day->items[i], today);
    day->items[i].today = sr_today_in_longer(sources, &day->items[i], today);
    day->tempo[i] = sr_today_tempo(sources, &day->items[i]);
  }
  g_task_return_pointer(task, day, free_day);
}

void
sr_day_reading_begin(GObject* const owner, const GAsyncReadyCallback done)
{
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_run_in_thread(task, read_day);
  g_object_unref(task);
}

SrDay*
sr_day_reading_finish(GAsyncResult* const result)
{
  return (SrDay*)g_task_propagate_pointer(G_TASK(result), NULL);
}
