// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/layout.h>

#include <steadyreed/data_place.h>
#include <steadyreed/setup.h>

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FOLDER "instruments"
#define ENDING ".json"

/// The entries so far.
typedef struct {
  SrLayoutEntry* entries;
  size_t count;
} List;

static bool
ends_in_json(const char* const name)
{
  const size_t length = strlen(name);
  return length > strlen(ENDING) && !strcmp(name + length - strlen(ENDING), ENDING);
}

/// The player's own folder of layouts; NULL without a home or memory.
static char*
own_folder(void)
{
  char* const config = sr_config_folder(false);
  char* folder = NULL;
  if (config && asprintf(&folder, "%s/" FOLDER, config) < 0) {
    folder = NULL;
  }
  free(config);
  return folder;
}

static void
clear_entry(SrLayoutEntry* const entry)
{
  free(entry->name);
  free(entry->path);
}

static bool
has(const List* const list, const char* const name)
{
  for (size_t i = 0; i < list->count; ++i) {
    if (!strcmp(list->entries[i].name, name)) {
      return true;
    }
  }
  return false;
}

/// Add a file of a folder, unless its name is listed already. False without memory.
static bool
add(List* const list, const char* const folder, const char* const file, const bool own)
{
  SrLayoutEntry entry = {.name = strndup(file, strlen(file) - strlen(ENDING)), .own = own};
  if (asprintf(&entry.path, "%s/%s", folder, file) < 0) {
    entry.path = NULL;
  }
  const bool known = entry.name && has(list, entry.name);
  SrLayoutEntry* const more =
      entry.name && entry.path && !known
          ? (SrLayoutEntry*)realloc(list->entries, (list->count + 1) * sizeof(*more))
          : NULL;
  if (!more) {
    clear_entry(&entry);
    return known;
  }
  list->entries = more;
  list->entries[list->count++] = entry;
  return true;
}

/// Add the layouts of a folder; none if it does not exist. False without memory.
static bool
add_folder(List* const list, const char* const folder, const bool own)
{
  DIR* const directory = opendir(folder);
  bool enough = true;
  const struct dirent* file;
  while (enough && directory && (file = readdir(directory))) {
    if (file->d_name[0] != '.' && ends_in_json(file->d_name)) {
      enough = add(list, folder, file->d_name, own);
    }
  }
  if (directory) {
    closedir(directory);
  }
  return enough;
}

static int
by_name(const void* const a, const void* const b)
{
  const SrLayoutEntry* const one = (const SrLayoutEntry*)a;
  const SrLayoutEntry* const other = (const SrLayoutEntry*)b;
  return strcmp(one->name, other->name);
}

SrStatus
sr_layout_list(SrLayoutEntry** const entries, size_t* const count, SrError* const error)
{
  *entries = NULL;
  *count = 0;
  // The folder is found through the default layout
  char* shipped = NULL;
  const SrStatus status = sr_data_place(FOLDER "/" SR_USUAL_LAYOUT ENDING, &shipped, error);
  if (status != SR_OK) {
    return status;
  }
  *strrchr(shipped, '/') = '\0';
  List list = {NULL, 0};
  char* const own = own_folder();
  const bool enough = (!own || add_folder(&list, own, true)) && add_folder(&list, shipped, false);
  free(own);
  free(shipped);
  if (!enough) {
    sr_layout_list_del(list.entries, list.count);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  if (list.count) {
    qsort(list.entries, list.count, sizeof(list.entries[0]), by_name);
  }
  *entries = list.entries;
  *count = list.count;
  return SR_OK;
}

void
sr_layout_list_del(SrLayoutEntry* const entries, const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    clear_entry(&entries[i]);
  }
  free(entries);
}

/// Report that a name is unknown, and list the known ones.
static void
refuse(const char* const asked, const SrLayoutEntry* const entries, const size_t count,
       SrError* const error)
{
  char names[256] = "";
  for (size_t i = 0; i < count; ++i) {
    const size_t fill = strlen(names);
    if (fill + strlen(entries[i].name) + 8 > sizeof(names)) {
      snprintf(names + fill, sizeof(names) - fill, ", …");
      break;
    }
    snprintf(names + fill, sizeof(names) - fill, "%s%s", i ? ", " : "", entries[i].name);
  }
  sr_error_set(error, SR_NOT_FOUND,
               "There is no layout \"%.60s\"; there are %s. Give a file of your own by its path, "
               "with a slash or .json.",
               asked, names);
}

/// Path of a layout in the player's own folder; NULL if it does not exist.
static char*
own_place(const char* const name)
{
  char* const folder = own_folder();
  char* path = NULL;
  if (folder && asprintf(&path, "%s/%s" ENDING, folder, name) < 0) {
    path = NULL;
  }
  free(folder);
  if (path && access(path, F_OK) != 0) {
    free(path);
    path = NULL;
  }
  return path;
}

/// Path of a shipped layout; NULL if there is none.
static char*
shipped_place(const char* const name)
{
  char* file = NULL;
  char* path = NULL;
  if (asprintf(&file, FOLDER "/%s" ENDING, name) < 0) {
    return NULL;
  }
  sr_data_place(file, &path, NULL);
  free(file);
  return path;
}

char*
sr_layout_place(const char* const asked)
{
  const char* const name = asked ? asked : SR_USUAL_LAYOUT;
  if (strchr(name, '/') || ends_in_json(name)) {
    return strdup(name);
  }
  char* const own = own_place(name);
  return own ? own : shipped_place(name);
}

SrStatus
sr_layout_read(const char* const asked, SrInstrument** const instrument, SrError* const error)
{
  const char* const name = asked ? asked : SR_USUAL_LAYOUT;
  *instrument = NULL;
  char* const path = sr_layout_place(name);
  if (path) {
    const SrStatus status = sr_instrument_read_file(path, instrument, error);
    free(path);
    return status;
  }
  SrLayoutEntry* entries = NULL;
  size_t count = 0;
  const SrStatus status = sr_layout_list(&entries, &count, error);
  if (status == SR_OK) {
    refuse(name, entries, count, error);
  }
  sr_layout_list_del(entries, count);
  return status == SR_OK ? SR_NOT_FOUND : status;
}
