// SPDX-License-Identifier: GPL-3.0-or-later

#include "progress_reading.h"

#include "owned_task.h"

#include <steadyreed/output.h>
#include <steadyreed/progress_page.h>

#include <limits.h>
#include <stdlib.h>
#include <string.h>

SrProgressReading*
sr_progress_reading_ref(SrProgressReading* const reading)
{
  g_atomic_ref_count_inc(&reading->references);
  return reading;
}

void
sr_progress_reading_unref(SrProgressReading* const reading)
{
  if (reading && g_atomic_ref_count_dec(&reading->references)) {
    sr_progress_del(reading->phrases, reading->phrase_count);
    free(reading->every);
    g_free(reading->path);
    g_free(reading);
  }
}

static void
free_reading(void* const data)
{
  sr_progress_reading_unref((SrProgressReading*)data);
}

static void
read_history(GTask* const task, void* const owner, void* const data,
             GCancellable* const cancellable)
{
  (void)owner;
  (void)data;
  (void)cancellable;
  SrProgressReading* const reading = g_new0(SrProgressReading, 1);
  SrHistory* history = NULL;
  g_atomic_ref_count_init(&reading->references);
  reading->today = sr_moment_day(sr_moment_now());
  reading->status = sr_history_open(NULL, SR_HISTORY_LOOK, &history, &reading->error);
  if (reading->status == SR_OK) {
    reading->path = g_strdup(sr_history_path(history));
    reading->status = sr_progress_read_whole(history, INT_MIN, NULL, &reading->phrases,
                                             &reading->phrase_count, &reading->error);
  } else if (reading->status == SR_NOT_FOUND) {
    reading->status = SR_OK;
  }
  if (reading->status == SR_OK && history) {
    reading->status = sr_history_every_day(history, INT_MIN, &reading->every, &reading->every_count,
                                           &reading->error);
  }
  sr_history_close(history);
  g_task_return_pointer(task, reading, free_reading);
}

void
sr_progress_reading_begin(GObject* const owner, const GAsyncReadyCallback done)
{
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_run_in_thread(task, read_history);
  g_object_unref(task);
}

SrProgressReading*
sr_progress_reading_finish(GAsyncResult* const result)
{
  return (SrProgressReading*)g_task_propagate_pointer(G_TASK(result), NULL);
}

// Pages ------------------------------------------------------------------------------------------

typedef struct {
  SrProgressReading* reading;
  size_t index;
  char* path;
  bool completed; ///< With an extension that the player did not see
} Order;

static void
free_order(void* const data)
{
  Order* const order = (Order*)data;
  sr_progress_reading_unref(order->reading);
  g_free(order->path);
  g_free(order);
}

static void
write_page(GTask* const task, void* const owner, void* const data, GCancellable* const cancellable)
{
  (void)owner;
  (void)cancellable;
  const Order* const order = (const Order*)data;
  const SrProgressReading* const reading = order->reading;
  const SrProgressPages pages = {&reading->phrases[order->index], 1, reading->every,
                                 reading->every_count, reading->today};
  const char* const read[] = {reading->path};
  char* const name = g_filename_display_basename(order->path);
  SrError error = {0};
  if (order->completed && g_file_test(order->path, G_FILE_TEST_EXISTS)) {
    sr_error_set(&error, SR_BAD_ARGUMENT, "There is such a file already: choose another name.");
  }
  const bool written = error.status == SR_OK &&
                       sr_output_check(order->path, read, 1, &error) == SR_OK &&
                       sr_page_progress(order->path, &pages, &error) == SR_OK;
  g_task_return_pointer(task,
                        written ? g_strdup_printf("Saved as %s", name)
                                : g_strdup_printf("%s was not saved. %s", name, error.message),
                        g_free);
  g_free(name);
}

static bool
has_extension(const char* const path)
{
  const char* const slash = strrchr(path, '/');
  return strchr(slash ? slash + 1 : path, '.') != NULL;
}

void
sr_progress_page_begin(GObject* const owner, SrProgressReading* const reading, const size_t index,
                       const char* const path, const GAsyncReadyCallback done)
{
  Order* const order = g_new0(Order, 1);
  order->reading = sr_progress_reading_ref(reading);
  order->index = index;
  order->completed = !has_extension(path);
  order->path = g_strconcat(path, order->completed ? ".pdf" : "", NULL);
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_set_task_data(task, order, free_order);
  g_task_run_in_thread(task, write_page);
  g_object_unref(task);
}

char*
sr_progress_page_finish(GAsyncResult* const result)
{
  return (char*)g_task_propagate_pointer(G_TASK(result), NULL);
}
