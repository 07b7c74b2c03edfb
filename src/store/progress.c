// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/progress.h>

#include <limits.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

void
sr_progress_del(SrPhraseProgress* const progress, const size_t count)
{
  for (size_t i = 0; progress && i < count; ++i) {
    free(progress[i].phrase.title);
    free(progress[i].phrase.file);
    free(progress[i].days);
  }
  free(progress);
}

static SrStatus
read_progress(SrHistory* const history, const int first_day, const char* const title,
              const bool whole, SrPhraseProgress** const progress, size_t* const count,
              SrError* const error)
{
  *progress = NULL;
  *count = 0;
  SrHistoryPhrase* phrases = NULL;
  size_t phrase_count = 0;
  SrStatus status = sr_history_phrases(history, &phrases, &phrase_count, error);
  SrPhraseProgress* const list =
      (SrPhraseProgress*)calloc(phrase_count + 1, sizeof(SrPhraseProgress));
  if (status == SR_OK && !list) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to read the history.");
  }
  size_t number = 0;
  for (size_t i = 0; status == SR_OK && list && i < phrase_count; ++i) {
    const int last_day = sr_moment_day(phrases[i].last);
    if (last_day < first_day || (title && !strcasestr(phrases[i].title, title))) {
      continue;
    }
    SrPhraseProgress* const one = &list[number];
    status =
        sr_history_days(history, phrases[i].id, whole ? INT_MIN : last_day - SR_TREND_WINDOW + 1,
                        &one->days, &one->day_count, error);
    if (status == SR_OK && one->day_count) {
      one->trends = sr_phrase_trends(one->days, one->day_count);
      one->phrase = phrases[i];
      // They are the entry's now
      phrases[i].title = phrases[i].file = NULL;
      ++number;
    }
  }
  sr_history_phrases_del(phrases, phrase_count);
  if (status != SR_OK) {
    sr_progress_del(list, number);
    return status;
  }
  *progress = list;
  *count = number;
  return SR_OK;
}

SrStatus
sr_progress_read(SrHistory* const history, const int first_day, const char* const title,
                 SrPhraseProgress** const progress, size_t* const count, SrError* const error)
{
  return read_progress(history, first_day, title, false, progress, count, error);
}

SrStatus
sr_progress_read_whole(SrHistory* const history, const int first_day, const char* const title,
                       SrPhraseProgress** const progress, size_t* const count, SrError* const error)
{
  return read_progress(history, first_day, title, true, progress, count, error);
}
