// SPDX-License-Identifier: GPL-3.0-or-later

#include "practice_log.h"

#include "byte_words.h"

#include <steadyreed/kept_takes.h>
#include <steadyreed/preferences.h>
#include <steadyreed/show.h>

#include <stdio.h>
#include <stdlib.h>

/// Names of removed takes that are listed.
#define MOST_NAMED 3u

SrPracticeLog
sr_practice_log_begin(const SrPhrase* const phrase, const SrSessionSettings* const settings,
                      const SrPractice* const origin, SrPracticeSay* const say, void* const context)
{
  SrPracticeLog log = {.phrase = phrase,
                       .practice = *origin,
                       .writes = settings->keeping != SR_KEEP_NOTHING,
                       .silent = settings->silent,
                       .say = say,
                       .context = context};
  const bool steps = !settings->silent && settings->on_bars && settings->off_bars;
  log.practice.asked_bpm = settings->judge.target_bpm;
  log.practice.click = settings->silent       ? SR_CLICK_NONE
                       : settings->click_bars ? SR_CLICK_BARS
                                              : SR_CLICK_PULSES;
  log.practice.on_bars = steps ? settings->on_bars : 0;
  log.practice.off_bars = steps ? settings->off_bars : 0;
  log.practice.take = NULL;
  return log;
}

/// Tell of a failure, once.
static void
tell_failure(SrPracticeLog* const log, const char* const what, const SrError* const error)
{
  if (!log->failed) {
    log->failed = true;
    char place[SR_ERROR_FILE_SIZE + SR_ERROR_MESSAGE_SIZE + 32];
    char text[sizeof(place) + 96];
    snprintf(text, sizeof(text), "%s %s", what, sr_error_print(error, place, sizeof(place)));
    log->say(log->context, text);
  }
}

/// Tell what became of a history that could not be used.
static void
tell_remark(const SrPracticeLog* const log)
{
  const char* const remark = log->history ? sr_history_remark(log->history) : NULL;
  if (remark) {
    log->say(log->context, remark);
  }
}

static void
begin(SrPracticeLog* const log, const SrSessionEvent* const event)
{
  SrError error = {0};
  log->practice.take = event->ready.path;
  log->practice.asked_bpm = log->silent ? log->practice.asked_bpm : event->ready.bpm;
  if (log->writes && sr_history_open(NULL, SR_HISTORY_RECORD, &log->history, &error) != SR_OK) {
    tell_failure(log, "This practice will not be in your progress.", &error);
  }
  tell_remark(log);
}

static void
add_round(SrPracticeLog* const log, const SrSessionEvent* const event)
{
  const SrAssessment* const assessment = event->round.assessment;
  if (!log->history || !assessment->round_count) {
    return;
  }
  const SrShownTake shown = {.path = "", .phrase = log->phrase, .assessment = assessment};
  char* const json = sr_show_take_json(&shown);
  SrError error = {0};
  if (sr_history_add_round(log->history, log->phrase, assessment, assessment->round_count - 1,
                           &log->practice, json, NULL, &error) == SR_OK) {
    ++log->added;
  } else {
    tell_failure(log, "This round is not in your progress.", &error);
  }
  tell_remark(log);
  free(json);
}

/// The end of the session broke off a round.
static void
add_unfinished(SrPracticeLog* const log, const SrSessionEvent* const event)
{
  const SrUnfinishedRound round = {event->nothing.notes,
                                   event->nothing.end_s - event->nothing.start_s};
  if (!log->history || !round.notes) {
    return;
  }
  SrError error = {0};
  if (sr_history_add_unfinished(log->history, log->phrase, &round, &log->practice, NULL, &error) ==
      SR_OK) {
    ++log->added;
  } else {
    tell_failure(log, "The unfinished round is not in your progress.", &error);
  }
  tell_remark(log);
}

/// Tell which takes were removed.
static void
tell_removed(const SrPracticeLog* const log, const SrTakeEntry* const removed, const size_t count,
             const uint64_t limit)
{
  uint64_t bytes = 0;
  for (size_t i = 0; i < count; ++i) {
    bytes += removed[i].bytes;
  }
  char* text = NULL;
  size_t size = 0;
  FILE* const stream = open_memstream(&text, &size);
  if (!stream) {
    return;
  }
  char removed_words[SR_BYTE_WORDS_SIZE];
  char limit_words[SR_BYTE_WORDS_SIZE];
  fprintf(stream, "To keep your takes within %s, %zu old %s removed, %s:",
          sr_byte_words(limit, limit_words), count, count == 1 ? "one was" : "ones were",
          sr_byte_words(bytes, removed_words));
  for (size_t i = 0; i < count && i < MOST_NAMED; ++i) {
    fprintf(stream, "%s %s", i ? "," : "", removed[i].name);
  }
  if (count > MOST_NAMED) {
    fprintf(stream, " and %zu more", count - MOST_NAMED);
  }
  fputs(". `steadyreed progress --mark` keeps a take for good.", stream);
  if (!fclose(stream)) {
    log->say(log->context, text);
  }
  free(text);
}

/// Remove takes over the limit.
static void
prune(SrPracticeLog* const log)
{
  SrPreferences preferences;
  SrError error = {0};
  // Without knowing what the player wants, nothing is removed
  if (sr_preferences_read(&preferences, &error) != SR_OK) {
    return;
  }
  const uint64_t limit = preferences.takes_limit ? preferences.takes_limit : SR_USUAL_TAKES_LIMIT;
  sr_preferences_clear(&preferences);
  SrTakeEntry* removed = NULL;
  size_t count = 0;
  if (sr_take_prune(log->history, NULL, limit, &removed, &count, NULL, &error) != SR_OK) {
    tell_failure(log, "Old takes were not looked through.", &error);
  }
  if (count) {
    tell_removed(log, removed, count, limit);
  }
  sr_take_entries_del(removed, count);
}

void
sr_practice_log_event(SrPracticeLog* const log, const SrSessionEvent* const event)
{
  SrError error = {0};
  switch (event->kind) {
  case SR_SESSION_READY:
    begin(log, event);
    break;
  case SR_SESSION_TEMPO:
    log->practice.asked_bpm = event->bpm;
    break;
  case SR_SESSION_ROUND:
    add_round(log, event);
    break;
  case SR_SESSION_NOTHING:
    add_unfinished(log, event);
    break;
  case SR_SESSION_SAVED:
    if (log->history && log->added &&
        sr_history_take_saved(log->history, event->saved.path, &error) != SR_OK) {
      tell_failure(log, "The take is kept, but not in your progress.", &error);
    }
    break;
  case SR_SESSION_END:
    if (log->history) {
      prune(log);
    }
    break;
  case SR_SESSION_LEVEL:
  case SR_SESSION_COUNT_IN:
  case SR_SESSION_NOTE:
  case SR_SESSION_AMENDED:
  case SR_SESSION_AGAIN:
  case SR_SESSION_SIGNAL:
  case SR_SESSION_SIGNAL_HELD:
  case SR_SESSION_WAITING:
  case SR_SESSION_PLAYING:
  case SR_SESSION_PLAYED:
  case SR_SESSION_PITCH:
  case SR_SESSION_HUSH:
  case SR_SESSION_DROPOUT:
  case SR_SESSION_HEARD:
  case SR_SESSION_AIR:
  case SR_SESSION_STOPPED:
  case SR_SESSION_TROUBLE:
    break;
  }
}

void
sr_practice_log_end(SrPracticeLog* const log)
{
  sr_history_close(log->history);
  log->history = NULL;
}
