// SPDX-License-Identifier: GPL-3.0-or-later

#include "takes_reading.h"

#include "../take_standing.h"
#include "owned_task.h"

#include <steadyreed/recording.h>

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

void
sr_kept_takes_free(SrKeptTakes* const kept)
{
  if (kept) {
    sr_take_entries_del(kept->takes, kept->count);
    sr_history_phrases_del(kept->phrases, kept->phrase_count);
    g_free(kept->figures);
    free(kept->folder);
    g_free(kept);
  }
}

static void
free_kept(void* const kept)
{
  sr_kept_takes_free((SrKeptTakes*)kept);
}

static void
add_round(SrTakeFigures* const figures, const SrHistoryRound* const round)
{
  ++figures->rounds;
  figures->clean += round->clean ? 1 : 0;
  figures->least_bpm = fmin(figures->least_bpm, round->played_bpm);
  figures->most_bpm = fmax(figures->most_bpm, round->played_bpm);
  figures->notes += round->figures.notes;
  figures->notes_right += round->figures.notes_right;
  figures->cuts += round->figures.cuts;
  figures->cuts_clean += round->figures.cuts_clean;
}

/// Add the rounds of a phrase to the takes they are in.
static void
add_rounds(SrHistory* const history, const int64_t phrase, GHashTable* const by_name,
           SrError* const error)
{
  SrHistoryRound* rounds = NULL;
  size_t count = 0;
  if (sr_history_rounds(history, phrase, INT_MIN, INT_MAX, &rounds, &count, error) != SR_OK) {
    return;
  }
  for (size_t i = 0; i < count; ++i) {
    SrTakeFigures* const figures =
        rounds[i].take ? (SrTakeFigures*)g_hash_table_lookup(by_name, rounds[i].take) : NULL;
    if (figures) {
      add_round(figures, &rounds[i]);
    }
  }
  sr_history_rounds_del(rounds, count);
}

static void
read_figures(SrHistory* const history, SrKeptTakes* const kept)
{
  GHashTable* const by_name = g_hash_table_new(g_str_hash, g_str_equal);
  kept->figures = g_new0(SrTakeFigures, kept->count + 1);
  for (size_t i = 0; i < kept->count; ++i) {
    kept->figures[i].least_bpm = (double)NAN;
    kept->figures[i].most_bpm = (double)NAN;
    kept->there += kept->takes[i].there ? 1 : 0;
    kept->bytes += kept->takes[i].there ? kept->takes[i].bytes : 0;
    g_hash_table_insert(by_name, kept->takes[i].name, &kept->figures[i]);
  }
  for (size_t i = 0; i < kept->phrase_count && kept->error.status == SR_OK; ++i) {
    add_rounds(history, kept->phrases[i].id, by_name, &kept->error);
  }
  g_hash_table_destroy(by_name);
}

static void
read_takes(GTask* const task, void* const owner, void* const data, GCancellable* const cancellable)
{
  (void)owner;
  (void)data;
  (void)cancellable;
  SrKeptTakes* const kept = g_new0(SrKeptTakes, 1);
  SrError* const error = &kept->error;
  SrHistory* history = NULL;
  kept->limit = sr_takes_limit(NULL);
  if (sr_history_open(NULL, SR_HISTORY_LOOK, &history, error) == SR_OK &&
      sr_takes_folder(&kept->folder, error) == SR_OK &&
      sr_take_entries(history, NULL, &kept->takes, &kept->count, error) == SR_OK &&
      sr_history_phrases_with_takes(history, &kept->phrases, &kept->phrase_count, error) == SR_OK) {
    read_figures(history, kept);
  }
  sr_history_close(history);
  g_task_return_pointer(task, kept, free_kept);
}

void
sr_takes_reading_begin(GObject* const owner, const GAsyncReadyCallback done)
{
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_run_in_thread(task, read_takes);
  g_object_unref(task);
}

SrKeptTakes*
sr_takes_reading_finish(GAsyncResult* const result)
{
  return (SrKeptTakes*)g_task_propagate_pointer(G_TASK(result), NULL);
}

const SrHistoryPhrase*
sr_kept_takes_phrase(const SrKeptTakes* const kept, const SrTakeEntry* const take)
{
  for (size_t i = 0; i < kept->phrase_count; ++i) {
    if (kept->phrases[i].id == take->phrase) {
      return &kept->phrases[i];
    }
  }
  return NULL;
}

/// A mark to be set or taken.
typedef struct {
  char* name;
  bool marked;
  SrError error;
} Mark;

static void
free_mark(void* const data)
{
  Mark* const mark = (Mark*)data;
  g_free(mark->name);
  g_free(mark);
}

static void
set_mark(GTask* const task, void* const owner, void* const data, GCancellable* const cancellable)
{
  (void)owner;
  (void)cancellable;
  Mark* const mark = (Mark*)data;
  SrHistory* history = NULL;
  const bool done = sr_history_open(NULL, SR_HISTORY_LOOK, &history, &mark->error) == SR_OK &&
                    sr_history_take_mark(history, mark->name, mark->marked, &mark->error) == SR_OK;
  sr_history_close(history);
  g_task_return_boolean(task, done);
}

void
sr_take_marking_begin(GObject* const owner, const char* const name, const bool marked,
                      const GAsyncReadyCallback done)
{
  Mark* const mark = g_new0(Mark, 1);
  mark->name = g_strdup(name);
  mark->marked = marked;
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  g_task_set_task_data(task, mark, free_mark);
  g_task_run_in_thread(task, set_mark);
  g_object_unref(task);
}

const char*
sr_take_marking_name(GAsyncResult* const result)
{
  return ((const Mark*)g_task_get_task_data(G_TASK(result)))->name;
}

bool
sr_take_marking_finish(GAsyncResult* const result, SrError* const error)
{
  *error = ((const Mark*)g_task_get_task_data(G_TASK(result)))->error;
  return g_task_propagate_boolean(G_TASK(result), NULL);
}
