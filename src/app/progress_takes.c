// SPDX-License-Identifier: GPL-3.0-or-later

#include "progress_takes.h"

#include "byte_words.h"
#include "command.h"
#include "say.h"
#include "take_standing.h"

#include <steadyreed/kept_takes.h>
#include <steadyreed/preferences.h>
#include <steadyreed/show_progress.h>

#include <stdio.h>

/// The room for takes; an error in the preferences is reported.
static uint64_t
limit_of_takes(void)
{
  SrError error = {0};
  const uint64_t limit = sr_takes_limit(&error);
  if (error.status != SR_OK) {
    sr_say_error(&error);
  }
  return limit;
}

/// A take as two lines: its name to copy, and what it is.
static void
say_take(const SrTakeEntry* const take)
{
  char day[SR_DAY_WORDS_SIZE];
  char bytes[SR_BYTE_WORDS_SIZE];
  const SrHistoryPhrase phrase = {
      .title = take->title, .first_bar = take->first_bar, .last_bar = take->last_bar};
  char words[SR_PHRASE_WORDS_SIZE];
  char standing[SR_TAKE_STANDING_SIZE];
  sr_say_format(stdout, "%s\n", take->name);
  sr_say_indented(stdout, 4, "  %s: %s, %zu round%s%s, %s%s",
                  sr_show_day(sr_moment_day(take->last), true, day),
                  sr_show_history_phrase(&phrase, words), take->rounds,
                  take->rounds == 1 ? "" : "s", take->unfinished ? " and an unfinished one" : "",
                  sr_byte_words(take->bytes, bytes), sr_take_standing(take, standing));
}

/// How many takes there are and what room they have.
static void
say_room(const size_t count, const uint64_t bytes)
{
  char used[SR_BYTE_WORDS_SIZE];
  char limit[SR_BYTE_WORDS_SIZE];
  sr_say_indented(stdout, 2, "%zu take%s, %s of %s; `--limit` changes that.", count,
                  count == 1 ? "" : "s", sr_byte_words(bytes, used),
                  sr_byte_words(limit_of_takes(), limit));
}

int
sr_progress_list_takes(SrHistory* const history)
{
  SrTakeEntry* takes = NULL;
  size_t count = 0;
  SrError error = {0};
  if (sr_take_entries(history, NULL, &takes, &count, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  size_t there = 0;
  uint64_t bytes = 0;
  for (size_t i = 0; i < count; ++i) {
    if (takes[i].there) {
      say_take(&takes[i]);
      ++there;
      bytes += takes[i].bytes;
    }
  }
  say_room(there, bytes);
  sr_take_entries_del(takes, count);
  return SR_EXIT_DONE;
}

int
sr_progress_mark(SrHistory* const history, const char* const take, const bool marked)
{
  SrError error = {0};
  if (sr_history_take_mark(history, take, marked, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  sr_say_indented(stdout, 2, marked ? "%s is kept for good." : "%s may be removed when it is old.",
                  take);
  return SR_EXIT_DONE;
}

/// How many takes would go, in words: "12 old takes, 1.2 GB,".
static void
say_over(char* const words, const size_t size, const size_t over, const uint64_t bytes)
{
  char gone[SR_BYTE_WORDS_SIZE];
  snprintf(words, size, "%zu old take%s, %s,", over, over == 1 ? "" : "s",
           sr_byte_words(bytes, gone));
}

/// Refuse a room that would cost takes.
static int
refuse_limit(const size_t over, const uint64_t gone)
{
  char words[SR_BYTE_WORDS_SIZE + 40];
  SrError error = {0};
  say_over(words, sizeof(words), over, gone);
  sr_error_set(&error, SR_BAD_ARGUMENT,
               "%s would be removed after the next practice, for good. Nothing was changed. Give "
               "--let-go as well if that is what you want; --mark keeps a take.",
               words);
  sr_say_error(&error);
  return SR_EXIT_WRONG_USAGE;
}

int
sr_progress_set_limit(SrHistory* const history, const uint64_t bytes, const bool let_go)
{
  SrError error = {0};
  SrTakeEntry* takes = NULL;
  size_t count = 0;
  if (history && sr_take_entries(history, NULL, &takes, &count, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  uint64_t used = 0;
  for (size_t i = 0; i < count; ++i) {
    used += takes[i].ours ? takes[i].bytes : 0;
  }
  uint64_t gone = 0;
  const size_t over = sr_takes_over(takes, count, bytes, &gone);
  sr_take_entries_del(takes, count);
  if (over && !let_go) {
    return refuse_limit(over, gone);
  }
  if (sr_preferences_keep_takes_limit(bytes, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  char words[SR_BYTE_WORDS_SIZE + 40];
  char room[SR_BYTE_WORDS_SIZE];
  char now[SR_BYTE_WORDS_SIZE];
  say_over(words, sizeof(words), over, gone);
  sr_say_indented(stdout, 2, "Takes may have %s; they have %s now.%s%s%s",
                  sr_byte_words(bytes, room), sr_byte_words(used, now), over ? " " : "",
                  over ? words : "", over ? " will be removed after the next practice." : "");
  return SR_EXIT_DONE;
}
