// SPDX-License-Identifier: GPL-3.0-or-later

#include "class_list.h"

#include "recording_names.h"

#include <assert.h>
#include <dirent.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// A recording found, with whose it is.
typedef struct {
  char* path;
  char* name;
} Found;

typedef struct {
  Found* found;
  size_t count;
  size_t room;
} Finds;

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for that many recordings.");
}

/// Add a recording. Takes the path and the name, which may be NULL for want of memory.
static SrStatus
add(Finds* const finds, char* const path, char* const name, SrError* const error)
{
  Found* more = finds->found;
  if (finds->count == finds->room) {
    finds->room = 2 * finds->room + 32;
    more = (Found*)realloc(finds->found, finds->room * sizeof(Found));
    finds->found = more ? more : finds->found;
  }
  if (!more || !path || !name) {
    free(path);
    free(name);
    return no_memory(error);
  }
  finds->found[finds->count++] = (Found){path, name};
  return SR_OK;
}

static char*
join(const char* const folder, const char* const name)
{
  const size_t length = strlen(folder);
  const char* const between = length && folder[length - 1] == '/' ? "" : "/";
  char* path = NULL;
  return asprintf(&path, "%s%s%s", folder, between, name) < 0 ? NULL : path;
}

static int
is_shown(const struct dirent* const entry)
{
  return entry->d_name[0] != '.';
}

/// Report a folder that cannot be read.
static SrStatus
refuse_folder(const char* const folder, SrError* const error)
{
  const int code = errno;
  const SrStatus status = code == EACCES   ? SR_NO_PERMISSION
                          : code == ENOMEM ? SR_NO_MEMORY
                                           : SR_NOT_FOUND;
  sr_error_set(error, status, "The folder of recordings cannot be read: %s.",
               code == ENOTDIR ? "it is a file; name the folder it is in" : strerror(code));
  sr_error_place(error, folder, 0, 0);
  return status;
}

/// Find recordings in a folder. `owner` is whose they are; NULL for the class's own folder.
static SrStatus
find(const char* const folder, const char* const owner, Finds* const finds, SrError* const error)
{
  struct dirent** entries = NULL;
  const int count = scandir(folder, &entries, is_shown, alphasort);
  if (count < 0) {
    return refuse_folder(folder, error);
  }
  SrStatus status = SR_OK;
  for (int i = 0; i < count; ++i) {
    const char* const name = entries[i]->d_name;
    char* const path = status == SR_OK ? join(folder, name) : NULL;
    struct stat about;
    const bool there = path && stat(path, &about) == 0;
    if (status == SR_OK && !path) {
      status = no_memory(error);
    } else if (there && S_ISDIR(about.st_mode)) {
      status = owner ? SR_OK : find(path, name, finds, error);
    } else if (path && sr_names_recording(name) && (!there || S_ISREG(about.st_mode))) {
      const char* const dot = strrchr(name, '.');
      const size_t length = dot ? (size_t)(dot - name) : strlen(name);
      status = add(finds, strdup(path), owner ? strdup(owner) : strndup(name, length), error);
    }
    free(path);
    free(entries[i]);
  }
  free(entries);
  return status;
}

static int
in_order(const void* const one, const void* const other)
{
  const Found* const a = (const Found*)one;
  const Found* const b = (const Found*)other;
  const int names = strcmp(a->name, b->name);
  return names ? names : strcmp(a->path, b->path);
}

/// Put the recordings found into the list. They are in order.
static SrStatus
sort_out(const Finds* const finds, SrClassList* const list, SrError* const error)
{
  assert(finds->count > 0);
  list->takes = (SrClassTake*)calloc(finds->count, sizeof(SrClassTake));
  list->pupils = (SrPupil*)calloc(finds->count, sizeof(SrPupil));
  if (!list->takes || !list->pupils) {
    return no_memory(error);
  }
  const char* last = NULL;
  for (size_t i = 0; i < finds->count; ++i) {
    Found* const found = &finds->found[i];
    assert(found->name && found->path);
    if (!last || strcmp(last, found->name) != 0) {
      last = found->name;
      list->pupils[list->pupil_count++] = (SrPupil){found->name, i, 0};
      found->name = NULL;
    }
    ++list->pupils[list->pupil_count - 1].count;
    list->takes[list->take_count++] = (SrClassTake){found->path, list->pupil_count - 1};
    found->path = NULL;
  }
  return SR_OK;
}

SrStatus
sr_class_list_read(const char* const folder, SrClassList* const list, SrError* const error)
{
  Finds finds = {.found = NULL};
  memset(list, 0, sizeof(*list));
  SrStatus status = find(folder, NULL, &finds, error);
  if (status == SR_OK && (!finds.found || finds.count == 0)) {
    status =
        sr_error_set(error, SR_NOT_FOUND,
                     "There is no recording in this folder, such as ann.m4a or ann/monday.wav.");
    sr_error_place(error, folder, 0, 0);
  }
  if (status == SR_OK && finds.found) {
    qsort(finds.found, finds.count, sizeof(Found), in_order);
    status = sort_out(&finds, list, error);
  }
  for (size_t i = 0; i < finds.count; ++i) {
    free(finds.found[i].path);
    free(finds.found[i].name);
  }
  free(finds.found);
  return status;
}

void
sr_class_list_clear(SrClassList* const list)
{
  for (size_t i = 0; i < list->take_count; ++i) {
    free(list->takes[i].path);
  }
  for (size_t i = 0; i < list->pupil_count; ++i) {
    free(list->pupils[i].name);
  }
  free(list->takes);
  free(list->pupils);
  memset(list, 0, sizeof(*list));
}
