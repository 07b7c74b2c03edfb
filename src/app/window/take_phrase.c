// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_phrase.h"

#include <steadyreed/preferences.h>

#include <string.h>

SrTakePhrase
sr_take_phrase_of(const SrHistoryPhrase* const phrase)
{
  SrTakePhrase taken = {.choice = {.path = g_strdup(phrase->file),
                                   .tune = phrase->tune,
                                   .first_bar = phrase->chosen_bars ? phrase->first_bar : 0,
                                   .last_bar = phrase->chosen_bars ? phrase->last_bar : 0,
                                   .part = phrase->part,
                                   .transpose = phrase->transposed}};
  g_strlcpy(taken.identity, phrase->identity, sizeof(taken.identity));
  return taken;
}

void
sr_take_phrase_clear(SrTakePhrase* const phrase)
{
  sr_choice_clear(&phrase->choice);
}

SrChosen*
sr_take_phrase_read(SrTakePhrase* const phrase, SrError* const error)
{
  char identity[SR_IDENTITY_SIZE];
  SrPreferences preferences;
  if (!phrase->choice.path) {
    (void)sr_error_set(error, SR_NOT_FOUND,
                       "The history does not say which file its phrase is in.");
    return NULL;
  }
  (void)sr_preferences_read(&preferences, NULL);
  phrase->choice.layout = g_strdup(preferences.layout);
  phrase->choice.style = g_strdup(preferences.style);
  sr_preferences_clear(&preferences);
  SrChosen* const chosen = sr_chosen_new(&phrase->choice, error);
  if (chosen) {
    sr_phrase_identity(chosen->phrase, identity);
    if (strcmp(identity, phrase->identity) != 0) {
      (void)sr_error_set(error, SR_NOT_FOUND, "Its phrase has been changed since it was played.");
      sr_chosen_unref(chosen);
      return NULL;
    }
  }
  return chosen;
}
