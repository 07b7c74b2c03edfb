// SPDX-License-Identifier: GPL-3.0-or-later

#include "outline_reading.h"

#include "owned_task.h"

typedef struct {
  char* path;
  SrTakeOutline* outline;
  SrError error;
} Reading;

static void
free_reading(void* const data)
{
  Reading* const reading = (Reading*)data;
  sr_take_outline_del(reading->outline);
  g_free(reading->path);
  g_free(reading);
}

static bool
is_cancelled(void* const cancellable)
{
  return g_cancellable_is_cancelled(G_CANCELLABLE(cancellable));
}

static void
read_outline(GTask* const task, void* const owner, void* const data,
             GCancellable* const cancellable)
{
  (void)owner;
  Reading* const reading = (Reading*)data;
  const SrStatus status = sr_take_outline_new(reading->path, is_cancelled, cancellable,
                                              &reading->outline, &reading->error);
  g_task_return_boolean(task, status == SR_OK);
}

void
sr_outline_reading_begin(GObject* const owner, const char* const path,
                         GCancellable* const cancellable, const GAsyncReadyCallback done)
{
  Reading* const reading = g_new0(Reading, 1);
  reading->path = g_strdup(path);
  GTask* const task = sr_owned_task_new(owner, cancellable, done);
  g_task_set_task_data(task, reading, free_reading);
  g_task_run_in_thread(task, read_outline);
  g_object_unref(task);
}

SrTakeOutline*
sr_outline_reading_finish(GAsyncResult* const result, SrError* const error)
{
  Reading* const reading = (Reading*)g_task_get_task_data(G_TASK(result));
  GError* cancelled = NULL;
  const gboolean good = g_task_propagate_boolean(G_TASK(result), &cancelled);
  *error = (SrError){.status = SR_OK};
  if (!good && !cancelled) {
    *error = reading->error;
  }
  g_clear_error(&cancelled);
  return good ? (SrTakeOutline*)g_steal_pointer(&reading->outline) : NULL;
}
