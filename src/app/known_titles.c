// SPDX-License-Identifier: GPL-3.0-or-later

#include "known_titles.h"

#include "say.h"

#include <string.h>

/// Titles that are listed at most.
#define MOST_TITLES 20u

/// Whether a phrase of the same title stands before this one.
static bool
is_said(const SrHistoryPhrase* const phrases, const size_t index)
{
  for (size_t i = 0; i < index; ++i) {
    if (!strcmp(phrases[i].title, phrases[index].title)) {
      return true;
    }
  }
  return false;
}

void
sr_known_titles_say(SrHistory* const history)
{
  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  size_t said = 0;
  size_t more = 0;
  if (sr_history_phrases(history, &phrases, &count, NULL) != SR_OK) {
    return;
  }
  for (size_t i = 0; i < count; ++i) {
    if (!phrases[i].title[0] || is_said(phrases, i)) {
      continue;
    }
    if (said == MOST_TITLES) {
      ++more;
      continue;
    }
    if (said++ == 0) {
      sr_say_indented(stdout, 2, "Practised were:");
    }
    sr_say_indented(stdout, 4, "  %s", phrases[i].title);
  }
  if (more) {
    sr_say_indented(stdout, 4, "  and %zu more", more);
  }
  sr_history_phrases_del(phrases, count);
}
