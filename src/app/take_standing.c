// SPDX-License-Identifier: GPL-3.0-or-later

#include "take_standing.h"

#include <steadyreed/preferences.h>

#include <stdio.h>

const char*
sr_take_standing(const SrTakeEntry* const take, char words[SR_TAKE_STANDING_SIZE])
{
  snprintf(words, SR_TAKE_STANDING_SIZE, "%s%s%s%s", take->best ? ", best" : "",
           take->latest ? ", latest" : "", take->marked ? ", marked" : "",
           take->ours ? "" : ", changed since: stays");
  return words;
}

uint64_t
sr_takes_limit(SrError* const error)
{
  SrPreferences preferences;
  (void)sr_preferences_read(&preferences, error);
  const uint64_t limit = preferences.takes_limit ? preferences.takes_limit : SR_USUAL_TAKES_LIMIT;
  sr_preferences_clear(&preferences);
  return limit;
}
