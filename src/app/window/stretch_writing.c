// SPDX-License-Identifier: GPL-3.0-or-later

#include "stretch_writing.h"

#include "owned_task.h"

#include <steadyreed/transcribed_take.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

SrStretchWish
sr_stretch_wish_copy(const SrStretchWish* const wish)
{
  SrStretchWish copy = *wish;
  copy.path = g_strdup(wish->path);
  copy.key = g_strdup(wish->key);
  copy.layout = g_strdup(wish->layout);
  copy.style = g_strdup(wish->style);
  return copy;
}

void
sr_stretch_wish_clear(SrStretchWish* const wish)
{
  g_clear_pointer(&wish->path, g_free);
  g_clear_pointer(&wish->key, g_free);
  g_clear_pointer(&wish->layout, g_free);
  g_clear_pointer(&wish->style, g_free);
}

void
sr_stretch_writing_free(SrStretchWriting* const writing)
{
  if (writing) {
    sr_score_clear(&writing->score);
    sr_chosen_unref(writing->chosen);
    sr_stretch_wish_clear(&writing->wish);
    g_free(writing);
  }
}

static void
free_writing(void* const data)
{
  sr_stretch_writing_free((SrStretchWriting*)data);
}

char*
sr_stretch_writing_title(const char* const title)
{
  char* const valid = g_utf8_make_valid(title, -1);
  for (char* at = valid; *at; ++at) {
    // A field ends with its line, and a comment begins with %
    *at = (unsigned char)*at < ' ' || *at == 0x7F || *at == '%' || *at == '\\' ? ' ' : *at;
  }
  g_strstrip(valid);
  if (valid[0]) {
    return valid;
  }
  g_free(valid);
  return g_strdup("By Ear");
}

char*
sr_stretch_writing_text(const SrScore* const score, const char* const title, size_t* const size)
{
  char* text = NULL;
  char* const plain = sr_stretch_writing_title(title);
  FILE* const stream = open_memstream(&text, size);
  bool good = stream != NULL;
  if (stream) {
    sr_score_write(stream, score, plain);
    good = !fclose(stream);
  }
  g_free(plain);
  if (!good) {
    free(text);
    text = NULL;
  }
  return text;
}

/// Read what was written, as any tune is read.
static SrStatus
read_back(SrStretchWriting* const writing)
{
  const SrStretchWish* const wish = &writing->wish;
  const SrChoice choice = {
      .layout = wish->layout, .style = wish->style, .unplanned = wish->unplanned};
  SrPhrase* phrase = NULL;
  size_t size = 0;
  char* const text = sr_stretch_writing_text(&writing->score, "By Ear", &size);
  const SrStatus status =
      text ? sr_phrase_read_text(text, size, "By Ear", NULL, &phrase, &writing->error)
           : sr_error_set(&writing->error, SR_NO_MEMORY,
                          "There is not enough memory to write the notes.");
  free(text);
  writing->chosen = status == SR_OK ? sr_chosen_new_of(&choice, phrase) : NULL;
  return status;
}

static void
write_down(GTask* const task, void* const owner, void* const data, GCancellable* const cancellable)
{
  (void)owner;
  (void)cancellable;
  const SrStretchWish* const asked = (const SrStretchWish*)data;
  SrStretchWriting* const writing = g_new0(SrStretchWriting, 1);
  writing->wish = sr_stretch_wish_copy(asked);
  SrScoreWish wish = sr_score_wish_none();
  wish.key = asked->key;
  wish.meter_beats = asked->meter_beats;
  wish.meter_unit = asked->meter_unit;
  wish.tempo_bpm = asked->tempo_bpm;
  wish.upbeat_quavers = asked->upbeat_quavers;
  const SrStatus status =
      sr_transcribed_take_make(asked->path, asked->from_s, asked->to_s, &wish, asked->octaves, true,
                               &writing->score, &writing->error);
  if (status == SR_OK) {
    (void)read_back(writing);
  }
  g_task_return_pointer(task, writing, free_writing);
}

static void
free_wish(void* const data)
{
  SrStretchWish* const wish = (SrStretchWish*)data;
  sr_stretch_wish_clear(wish);
  g_free(wish);
}

void
sr_stretch_writing_begin(GObject* const owner, const SrStretchWish* const wish,
                         GCancellable* const cancellable, const GAsyncReadyCallback done)
{
  SrStretchWish* const copy = g_new0(SrStretchWish, 1);
  *copy = sr_stretch_wish_copy(wish);
  GTask* const task = sr_owned_task_new(owner, cancellable, done);
  g_task_set_task_data(task, copy, free_wish);
  g_task_run_in_thread(task, write_down);
  g_object_unref(task);
}

SrStretchWriting*
sr_stretch_writing_finish(GAsyncResult* const result)
{
  return (SrStretchWriting*)g_task_propagate_pointer(G_TASK(result), NULL);
}
