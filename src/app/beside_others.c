// SPDX-License-Identifier: GPL-3.0-or-later

#include "beside_others.h"

#include "say.h"

#include <string.h>

/// Takes of a phrase that can be compared.
static size_t
count_takes(const SrHistoryPhrase* const phrase, const SrTakeEntry* const takes, const size_t count)
{
  size_t number = 0;
  for (size_t i = 0; i < count; ++i) {
    number += takes[i].phrase == phrase->id && takes[i].there && takes[i].rounds > 0;
  }
  return number;
}

/// The options that choose a phrase of its tune.
static const char*
options_of(const SrHistoryPhrase* const phrase, char options[64])
{
  char place[32] = "--bars all";
  if (phrase->part) {
    snprintf(place, sizeof(place), "--part %c", phrase->part);
  } else if (phrase->chosen_bars && phrase->first_bar == phrase->last_bar) {
    snprintf(place, sizeof(place), "--bars %d", phrase->first_bar);
  } else if (phrase->chosen_bars) {
    snprintf(place, sizeof(place), "--bars %d-%d", phrase->first_bar, phrase->last_bar);
  }
  if (phrase->transposed) {
    snprintf(options, 64, "%s --transpose %d", place, phrase->transposed);
  } else {
    snprintf(options, 64, "%s", place);
  }
  return options;
}

void
sr_beside_say_others(FILE* const stream, const SrPhrase* const phrase, SrHistory* const history,
                     const SrTakeEntry* const takes, const size_t count)
{
  char identity[SR_IDENTITY_SIZE];
  char options[64];
  const char* const title = sr_phrase_title(phrase);
  SrHistoryPhrase* phrases = NULL;
  size_t phrase_count = 0;
  bool said = false;
  if (!history || !*title || sr_history_phrases(history, &phrases, &phrase_count, NULL) != SR_OK) {
    return;
  }
  sr_phrase_identity(phrase, identity);
  for (size_t i = 0; i < phrase_count; ++i) {
    const size_t number = count_takes(&phrases[i], takes, count);
    if (!number || strcmp(phrases[i].title, title) != 0 || !strcmp(phrases[i].identity, identity)) {
      continue;
    }
    if (!said) {
      sr_say_indented(stream, 0, "Of this tune there are kept, with what to type:");
      said = true;
    }
    sr_say_indented(stream, 4, "  %s  %zu take%s", options_of(&phrases[i], options), number,
                    number == 1 ? "" : "s");
  }
  sr_history_phrases_del(phrases, phrase_count);
}
