// SPDX-License-Identifier: GPL-3.0-or-later

#include "phrase_places.h"

#include "owned_task.h"

#include <steadyreed/data_place.h>
#include <steadyreed/phrase.h>

#include <stdlib.h>
#include <string.h>

static void
free_place(void* const data)
{
  SrPhrasePlace* const place = (SrPhrasePlace*)data;
  g_free(place->path);
  g_free(place->title);
  g_free(place->about);
  g_free(place);
}

void
sr_phrase_places_free(SrPhrasePlaces* const places)
{
  if (places) {
    g_ptr_array_unref(places->recent);
    g_ptr_array_unref(places->exercises);
    g_free(places);
  }
}

static void
free_places(void* const data)
{
  sr_phrase_places_free((SrPhrasePlaces*)data);
}

/// The file's name without its folder, as text; g_free() it.
static char*
name_of(const char* const path)
{
  return g_filename_display_basename(path);
}

/// The first sentence of a text's N: fields, which in the exercises says what they are for; NULL
/// without one.
static char*
purpose_of(const char* const path)
{
  char* text = NULL;
  GString* const words = g_string_new("");
  if (g_file_get_contents(path, &text, NULL, NULL)) {
    char** const lines = g_strsplit_set(text, "\r\n", -1);
    for (char** line = lines; *line; ++line) {
      if (g_str_has_prefix(*line, "N:")) {
        g_string_append_printf(words, "%s%s", words->len ? " " : "", g_strstrip(*line + 2));
      }
    }
    g_strfreev(lines);
  }
  g_free(text);
  const char* const end = strstr(words->str, ". ");
  if (end) {
    g_string_truncate(words, (gsize)(end - words->str) + 1);
  }
  char* const purpose = words->len ? g_utf8_make_valid(words->str, -1) : NULL;
  g_string_free(words, TRUE);
  return purpose;
}

/// A file; NULL if it is missing or not one of tunes.
static SrPhrasePlace*
make_place(const char* const path, const bool shipped)
{
  SrTuneList* list = NULL;
  if (sr_tune_list_read(path, &list, NULL) != SR_OK) {
    return NULL;
  }
  const size_t count = sr_tune_list_count(list);
  const char* const title = count == 1 ? sr_tune_list_entry(list, 0)->title : "";
  SrPhrasePlace* const place = g_new0(SrPhrasePlace, 1);
  place->path = g_strdup(path);
  place->title = title[0] ? g_strdup(title) : name_of(path);
  if (shipped) {
    place->about = purpose_of(path);
  } else if (count > 1) {
    place->about = g_strdup_printf("%zu tunes", count);
  } else if (title[0]) {
    place->about = name_of(path);
  }
  sr_tune_list_del(list);
  return place;
}

static int
by_title(gconstpointer one, gconstpointer other)
{
  const SrPhrasePlace* const* const first = (const SrPhrasePlace* const*)one;
  const SrPhrasePlace* const* const second = (const SrPhrasePlace* const*)other;
  return g_utf8_collate((*first)->title, (*second)->title);
}

static void
find_exercises(GPtrArray* const exercises)
{
  char* folder = NULL;
  GDir* const files =
      sr_data_place("exercises", &folder, NULL) == SR_OK ? g_dir_open(folder, 0, NULL) : NULL;
  const char* name = NULL;
  while (files && (name = g_dir_read_name(files))) {
    if (g_str_has_suffix(name, ".abc")) {
      char* const path = g_build_filename(folder, name, NULL);
      SrPhrasePlace* const place = make_place(path, true);
      if (place) {
        g_ptr_array_add(exercises, place);
      }
      g_free(path);
    }
  }
  g_ptr_array_sort(exercises, by_title);
  if (files) {
    g_dir_close(files);
  }
  free(folder);
}

static void
find_places(GTask* const task, void* const owner, void* const data, GCancellable* const cancellable)
{
  (void)owner;
  (void)cancellable;
  const char* const* const recent = (const char* const*)data;
  SrPhrasePlaces* const places = g_new0(SrPhrasePlaces, 1);
  places->recent = g_ptr_array_new_with_free_func(free_place);
  places->exercises = g_ptr_array_new_with_free_func(free_place);
  for (size_t i = 0; recent && recent[i]; ++i) {
    SrPhrasePlace* const place = make_place(recent[i], false);
    if (place) {
      g_ptr_array_add(places->recent, place);
    }
  }
  find_exercises(places->exercises);
  g_task_return_pointer(task, places, free_places);
}

static void
free_paths(void* const data)
{
  g_strfreev((char**)data);
}

void
sr_phrase_places_begin(GObject* const owner, const char* const* const recent,
                       const GAsyncReadyCallback done)
{
  GTask* const task = sr_owned_task_new(owner, NULL, done);
  // g_strdupv() does not write to what it copies, though its type says so
  GStrvBuilder* const paths = g_strv_builder_new();
  for (size_t i = 0; recent && recent[i]; ++i) {
    g_strv_builder_add(paths, recent[i]);
  }
  g_task_set_task_data(task, g_strv_builder_end(paths), free_paths);
  g_strv_builder_unref(paths);
  g_task_run_in_thread(task, find_places);
  g_object_unref(task);
}

SrPhrasePlaces*
sr_phrase_places_finish(GAsyncResult* const result)
{
  return (SrPhrasePlaces*)g_task_propagate_pointer(G_TASK(result), NULL);
}
