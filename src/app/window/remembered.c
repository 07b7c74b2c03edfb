// SPDX-License-Identifier: GPL-3.0-or-later

#include "remembered.h"

#include <steadyreed/preferences.h>
#include <steadyreed/setup.h>

#include <math.h>
#include <stdlib.h>

static const char WINDOW[] = "window";
static const char PHRASE[] = "phrase";
static const char PRACTICE[] = "practice";
static const char DEVICES[] = "devices";

/// Path of the file; NULL without a home.
static char*
file_path(const bool make)
{
  char* const folder = sr_config_folder(make);
  char* const path = folder ? g_build_filename(folder, "window.ini", NULL) : NULL;
  free(folder);
  return path;
}

static gboolean
read_boolean(GKeyFile* const file, const char* const group, const char* const key,
             const gboolean usual)
{
  GError* error = NULL;
  const gboolean value = g_key_file_get_boolean(file, group, key, &error);
  const gboolean known = error == NULL;
  g_clear_error(&error);
  return known ? value : usual;
}

static double
read_number(GKeyFile* const file, const char* const group, const char* const key,
            const double usual)
{
  GError* error = NULL;
  const double value = g_key_file_get_double(file, group, key, &error);
  const gboolean known = error == NULL && isfinite(value);
  g_clear_error(&error);
  return known ? value : usual;
}

static int
read_whole(GKeyFile* const file, const char* const group, const char* const key, const int usual,
           const int least, const int most)
{
  const double value = read_number(file, group, key, usual);
  return value >= least && value <= most ? (int)value : usual;
}

/// The instrument and style are the ones that the commands remember.
static void
read_preferences(SrChoice* const choice)
{
  SrPreferences preferences;
  if (sr_preferences_read(&preferences, NULL) == SR_OK) {
    choice->layout = g_strdup(preferences.layout);
    choice->style = g_strdup(preferences.style);
  }
  sr_preferences_clear(&preferences);
}

SrRemembered
sr_remembered_read(void)
{
  SrRemembered remembered = {.bpm = (double)NAN};
  GKeyFile* const file = g_key_file_new();
  char* const path = file_path(false);
  if (path) {
    (void)g_key_file_load_from_file(file, path, G_KEY_FILE_NONE, NULL);
  }
  remembered.width = read_whole(file, WINDOW, "width", 0, 200, 20000);
  remembered.height = read_whole(file, WINDOW, "height", 0, 200, 20000);
  remembered.maximized = read_boolean(file, WINDOW, "maximized", FALSE);
  remembered.shown_setup = read_boolean(file, WINDOW, "setup-offered", FALSE);
  SrChoice* const choice = &remembered.choice;
  choice->path = g_key_file_get_string(file, PHRASE, "path", NULL);
  choice->title = g_key_file_get_string(file, PHRASE, "title", NULL);
  choice->tune = read_whole(file, PHRASE, "tune", 0, 0, 1000000);
  choice->first_bar = read_whole(file, PHRASE, "first-bar", 0, 0, 4096);
  choice->last_bar = read_whole(file, PHRASE, "last-bar", 0, 0, 4096);
  choice->part = (char)read_whole(file, PHRASE, "part", 0, 'A', 'Z');
  choice->transpose =
      read_whole(file, PHRASE, "transpose", 0, -SR_MOST_TRANSPOSED, SR_MOST_TRANSPOSED);
  choice->unplanned = read_boolean(file, PHRASE, "without-buttons", FALSE);
  read_preferences(choice);
  remembered.bpm = read_number(file, PHRASE, "tempo", (double)NAN);
  remembered.click = read_boolean(file, PRACTICE, "click", FALSE);
  remembered.ready_midi = read_whole(file, PRACTICE, "ready-note", -1, 0, 127);
  remembered.start_wait_s = read_whole(file, PRACTICE, "wait", 0, 0, 3600);
  remembered.count_in_each = read_boolean(file, PRACTICE, "count-in-each", FALSE);
  remembered.speak = read_boolean(file, PRACTICE, "speak", FALSE);
  remembered.tones = read_boolean(file, PRACTICE, "tones", FALSE);
  remembered.recent = g_key_file_get_string_list(file, PHRASE, "recent", NULL, NULL);
  remembered.input = g_key_file_get_string(file, DEVICES, "input", NULL);
  remembered.output = g_key_file_get_string(file, DEVICES, "output", NULL);
  g_free(path);
  g_key_file_unref(file);
  return remembered;
}

void
sr_remembered_write(const SrRemembered* const remembered)
{
  char* const path = file_path(true);
  if (!path) {
    return;
  }
  GKeyFile* const file = g_key_file_new();
  const SrChoice* const choice = &remembered->choice;
  g_key_file_set_integer(file, WINDOW, "width", remembered->width);
  g_key_file_set_integer(file, WINDOW, "height", remembered->height);
  g_key_file_set_boolean(file, WINDOW, "maximized", remembered->maximized);
  g_key_file_set_boolean(file, WINDOW, "setup-offered", remembered->shown_setup);
  if (choice->path) {
    g_key_file_set_string(file, PHRASE, "path", choice->path);
    g_key_file_set_integer(file, PHRASE, "tune", choice->tune);
    if (choice->title) {
      g_key_file_set_string(file, PHRASE, "title", choice->title);
    }
    g_key_file_set_integer(file, PHRASE, "first-bar", choice->first_bar);
    g_key_file_set_integer(file, PHRASE, "last-bar", choice->last_bar);
    g_key_file_set_integer(file, PHRASE, "part", choice->part);
    g_key_file_set_integer(file, PHRASE, "transpose", choice->transpose);
    g_key_file_set_boolean(file, PHRASE, "without-buttons", choice->unplanned);
  }
  if (isfinite(remembered->bpm)) {
    g_key_file_set_double(file, PHRASE, "tempo", remembered->bpm);
  }
  if (remembered->recent) {
    g_key_file_set_string_list(file, PHRASE, "recent", (const char* const*)remembered->recent,
                               g_strv_length(remembered->recent));
  }
  g_key_file_set_boolean(file, PRACTICE, "click", remembered->click);
  g_key_file_set_integer(file, PRACTICE, "ready-note", remembered->ready_midi);
  g_key_file_set_integer(file, PRACTICE, "wait", (int)remembered->start_wait_s);
  g_key_file_set_boolean(file, PRACTICE, "count-in-each", remembered->count_in_each);
  g_key_file_set_boolean(file, PRACTICE, "speak", remembered->speak);
  g_key_file_set_boolean(file, PRACTICE, "tones", remembered->tones);
  if (remembered->input) {
    g_key_file_set_string(file, DEVICES, "input", remembered->input);
  }
  if (remembered->output) {
    g_key_file_set_string(file, DEVICES, "output", remembered->output);
  }
  gsize size = 0;
  char* const text = g_key_file_to_data(file, &size, NULL);
  (void)g_file_set_contents_full(path, text, (gssize)size, G_FILE_SET_CONTENTS_CONSISTENT, 0600,
                                 NULL);
  g_free(text);
  g_free(path);
  g_key_file_unref(file);
}

void
sr_remembered_add_recent(SrRemembered* const remembered, const char* const path)
{
  GStrvBuilder* const builder = g_strv_builder_new();
  g_strv_builder_add(builder, path);
  guint count = 1;
  for (char** recent = remembered->recent; recent && *recent && count < SR_MOST_RECENT; ++recent) {
    if (!g_str_equal(*recent, path)) {
      g_strv_builder_add(builder, *recent);
      ++count;
    }
  }
  g_strfreev(remembered->recent);
  remembered->recent = g_strv_builder_end(builder);
  g_strv_builder_unref(builder);
}

void
sr_remembered_clear(SrRemembered* const remembered)
{
  sr_choice_clear(&remembered->choice);
  g_clear_pointer(&remembered->recent, g_strfreev);
  g_clear_pointer(&remembered->input, g_free);
  g_clear_pointer(&remembered->output, g_free);
}
