// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/data_place.h>

#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

/// Try `folder/middle/name`. True if it is readable; `path` receives it.
static bool
try_place(const char* const folder, const char* const middle, const char* const name,
          char** const path)
{
  if (asprintf(path, "%s/%s%s", folder, middle, name) < 0) {
    *path = NULL;
    return false;
  }
  if (access(*path, R_OK) == 0) {
    // Without "/../" in it, if possible
    char* const real = realpath(*path, NULL);
    if (real) {
      free(*path);
      *path = real;
    }
    return true;
  }
  free(*path);
  *path = NULL;
  return false;
}

/**
   Try an installed data folder, or a source tree with its takes in testdata and layouts in
   src/plan.
*/
static bool
try_tree(const char* const folder, const char* const name, char** const path)
{
  return try_place(folder, "", name, path) || try_place(folder, "testdata/", name, path) ||
         try_place(folder, "src/plan/", name, path);
}

/// Folder of the running program; false if the system does not tell.
static bool
program_folder(char* const folder, const size_t size)
{
  const ssize_t length = readlink("/proc/self/exe", folder, size - 1);
  if (length <= 0 || (size_t)length >= size - 1) {
    return false;
  }
  folder[length] = '\0';
  char* const slash = strrchr(folder, '/');
  if (!slash) {
    return false;
  }
  *slash = '\0';
  return true;
}

/// Source tree, from a file the build wrote beside the program; false outside the build folder.
static bool
source_tree(const char* const folder, char* const tree, const size_t size)
{
  char note[PATH_MAX];
  const int length = snprintf(note, sizeof(note), "%s/source-tree", folder);
  if (length < 0 || (size_t)length >= sizeof(note)) {
    return false;
  }
  FILE* const file = fopen(note, "r");
  if (!file) {
    return false;
  }
  const bool read = fgets(tree, (int)size, file) != NULL;
  fclose(file);
  if (read) {
    tree[strcspn(tree, "\n")] = '\0';
  }
  return read && tree[0] == '/';
}

SrStatus
sr_data_place(const char* const name, char** const path, SrError* const error)
{
  *path = NULL;
  const char* const asked = getenv("STEADYREED_DATA");
  if (asked && *asked) {
    if (try_tree(asked, name, path)) {
      return SR_OK;
    }
    return sr_error_set(error, SR_NOT_FOUND,
                        "STEADYREED_DATA says %.200s, but there is no %s in that folder. Unset it, "
                        "or set it to the folder that holds exercises, takes and instruments.",
                        asked, name);
  }
  char folder[PATH_MAX];
  char place[2 * PATH_MAX];
  if (program_folder(folder, sizeof(folder))) {
    snprintf(place, sizeof(place), "%s/%s", folder, SR_DATA_FROM_PROGRAM);
    char tree[PATH_MAX];
    if (try_place(place, "", name, path) ||
        (source_tree(folder, tree, sizeof(tree)) && try_tree(tree, name, path))) {
      return SR_OK;
    }
  }
  if (try_place(SR_DATA_FOLDER, "", name, path)) {
    return SR_OK;
  }
  return sr_error_set(error, SR_NOT_FOUND,
                      "The file %s that comes with the program is missing. Install Steadyreed "
                      "again, or set STEADYREED_DATA to the folder that holds exercises, takes and "
                      "instruments.",
                      name);
}
