// SPDX-License-Identifier: GPL-3.0-or-later

#include "progress_page.h"

#include "command.h"
#include "say.h"

#include <steadyreed/output.h>
#include <steadyreed/take_page.h>

#include <limits.h>
#include <stdlib.h>
#include <string.h>

int
sr_progress_page_check(const char* const path)
{
  SrError error = {0};
  if (sr_page_check(path, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  return 0;
}

int
sr_progress_page_none(const char* const path)
{
  SrError error = {0};
  sr_error_set(&error, SR_NOT_FOUND, "No page was written: there is nothing to show on it.");
  sr_error_place(&error, path, 0, 0);
  sr_say_error(&error);
  return SR_EXIT_NOT_JUDGED;
}

SrStatus
sr_progress_page_spare(const SrHistory* const history, const char* const path, const size_t phrases,
                       SrError* const error)
{
  const char* const read[] = {sr_history_path(history)};
  SrStatus status = SR_OK;
  for (size_t i = 0; i < phrases && status == SR_OK; ++i) {
    char* const written = sr_page_take_path(path, phrases > 1 ? i + 1 : 0);
    status = written ? sr_output_check(written, read, 1, error)
                     : sr_error_set(error, SR_NO_MEMORY,
                                    "There is not enough memory for that many "
                                    "pages.");
    free(written);
  }
  return status;
}

/// Name the files that were written, where each phrase has its own.
static void
say_written(const char* const path, const size_t phrases)
{
  char* const first = sr_page_take_path(path, phrases > 1 ? 1 : 0);
  char* const last = sr_page_take_path(path, phrases);
  if (first && last && strcmp(first, path) != 0) {
    sr_say_indented(stdout, 2, "Wrote %zu pages, in the order above: %s to %s.", phrases, first,
                    last);
  }
  free(first);
  free(last);
}

/// Read what the pages show, and write them.
static SrStatus
write_pages(SrHistory* const history, const char* const path, SrProgressPages* const pages,
            SrError* const error)
{
  SrPracticeDay* every = NULL;
  SrStatus status = sr_history_every_day(history, INT_MIN, &every, &pages->every_count, error);
  pages->every = every;
  if (status == SR_OK) {
    status = sr_progress_page_spare(history, path, pages->phrase_count, error);
  }
  if (status == SR_OK) {
    status = sr_page_progress(path, pages, error);
  }
  if (status == SR_OK) {
    say_written(path, pages->phrase_count);
  }
  free(every);
  return status;
}

int
sr_progress_page_write(SrHistory* const history, const char* const path, const char* const title,
                       const int first_day, const int today)
{
  SrPhraseProgress* phrases = NULL;
  SrProgressPages pages = {.today = today};
  SrError error = {0};
  SrStatus status =
      sr_progress_read_whole(history, first_day, title, &phrases, &pages.phrase_count, &error);
  pages.phrases = phrases;
  if (status == SR_OK && !pages.phrase_count) {
    sr_progress_del(phrases, 0);
    return sr_progress_page_none(path);
  }
  if (status == SR_OK) {
    status = write_pages(history, path, &pages, &error);
  }
  if (status != SR_OK) {
    sr_say_error(&error);
  }
  sr_progress_del(phrases, pages.phrase_count);
  return status == SR_OK             ? SR_EXIT_DONE
         : status == SR_BAD_ARGUMENT ? SR_EXIT_WRONG_USAGE
                                     : SR_EXIT_NOT_JUDGED;
}
