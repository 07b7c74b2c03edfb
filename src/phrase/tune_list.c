// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file tune_list.c
   The list of the tunes of a file.
*/

#include "tune_file.h"

#include <stdlib.h>

struct SrTuneListImpl {
  SrTuneEntry* entries;
  char** titles; ///< Strings the entries point to: each title followed by its rhythm
  size_t count;
  size_t size;
};

void
sr_tune_list_del(SrTuneList* const list)
{
  if (list) {
    for (size_t i = 0; i < list->count; ++i) {
      free(list->titles[i]);
    }
    free(list->titles);
    free(list->entries);
    free(list);
  }
}

size_t
sr_tune_list_count(const SrTuneList* const list)
{
  return list->count;
}

const SrTuneEntry*
sr_tune_list_entry(const SrTuneList* const list, const size_t index)
{
  return &list->entries[index];
}

static bool
add_entry(SrTuneList* const list, const int number, const unsigned line)
{
  if (list->count == list->size) {
    const size_t size = list->size ? 2 * list->size : 64;
    SrTuneEntry* const more = (SrTuneEntry*)realloc(list->entries, size * sizeof(SrTuneEntry));
    if (!more) {
      return false;
    }
    list->entries = more;
    char** const titles = (char**)realloc(list->titles, size * sizeof(char*));
    if (!titles) {
      return false;
    }
    list->titles = titles;
    list->size = size;
  }
  char* const title = (char*)calloc(2, SR_TUNE_TEXT_SIZE);
  if (!title) {
    return false;
  }
  list->titles[list->count] = title;
  list->entries[list->count++] = (SrTuneEntry){number, title, title + SR_TUNE_TEXT_SIZE, line};
  return true;
}

SrStatus
sr_tune_list_read(const char* const path, SrTuneList** const list, SrError* const error)
{
  char* text = NULL;
  size_t size = 0;
  *list = NULL;
  const SrStatus status = sr_tune_file_read(path, &text, &size, error);
  if (status != SR_OK) {
    return status;
  }
  SrTuneList* const result = (SrTuneList*)calloc(1, sizeof(SrTuneList));
  bool enough = result != NULL;
  size_t at = 0;
  unsigned number = 0;
  int index = 0;
  SrLine line;
  while (enough && sr_line_next(text, size, &at, &number, &line)) {
    if (sr_line_is_tune_start(&line, &index)) {
      enough = add_entry(result, index, number);
    } else if (result->count && line.size > 2 && line.text[1] == ':') {
      char* const title = result->titles[result->count - 1];
      char* const into = line.text[0] == 'T'   ? title
                         : line.text[0] == 'R' ? title + SR_TUNE_TEXT_SIZE
                                               : NULL;
      if (into && !into[0]) {
        sr_line_copy(line.text + 2, line.size - 2, into, SR_TUNE_TEXT_SIZE);
      }
    }
  }
  free(text);
  if (!enough) {
    sr_tune_list_del(result);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  }
  *list = result;
  return SR_OK;
}
