// SPDX-License-Identifier: GPL-3.0-or-later

#include "chosen_phrase.h"

#include "say.h"
#include "sound_take.h"

#include <stdio.h>
#include <string.h>

#define MOST_LISTED 40u

/// List the tunes of a file: those whose title contains `title`, or all if there are none.
static void
list_tunes(const char* const path, const char* const title)
{
  SrTuneList* list = NULL;
  if (sr_tune_list_read(path, &list, NULL) != SR_OK) {
    return;
  }
  const size_t count = sr_tune_list_count(list);
  size_t holding = 0;
  for (size_t i = 0; title && i < count; ++i) {
    holding += strcasestr(sr_tune_list_entry(list, i)->title, title) != NULL;
  }
  size_t listed = 0;
  for (size_t i = 0; i < count; ++i) {
    const SrTuneEntry* const entry = sr_tune_list_entry(list, i);
    if (holding && !strcasestr(entry->title, title)) {
      continue;
    }
    if (listed++ == MOST_LISTED) {
      sr_say_line("  ...");
      break;
    }
    sr_say_indented(stderr, 8, "  %4d  %s%s%s%s", entry->number, entry->title,
                    entry->rhythm[0] ? " (" : "", entry->rhythm, entry->rhythm[0] ? ")" : "");
  }
  sr_tune_list_del(list);
}

SrPhrase*
sr_chosen_phrase_read(const char* const path, const SrPhraseChoice* const choice)
{
  SrError error = {0};
  SrPhrase* phrase = NULL;
  if (sr_phrase_read_file(path, choice, &phrase, &error) != SR_OK) {
    if (sr_sound_take_is(path)) {
      sr_error_set(
          &error, error.status,
          "This is a recording, not a tune in ABC notation. `steadyreed transcribe` writes "
          "down what it holds; the window of `steadyreed practise` learns from it by ear.");
      sr_error_place(&error, path, 0, 0);
    }
    sr_say_error(&error);
    if (error.status == SR_NOT_FOUND && (choice->tune || choice->title)) {
      list_tunes(path, choice->title);
    }
    return NULL;
  }
  for (size_t i = 0; i < sr_phrase_remark_count(phrase); ++i) {
    sr_say_indented(stderr, 2, "Note: %s", sr_phrase_remark(phrase, i));
  }
  return phrase;
}
