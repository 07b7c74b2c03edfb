// SPDX-License-Identifier: GPL-3.0-or-later

// A judged round goes into the history, or one that was broken off.

#include "../utf8.h"
#include "data_folder.h"
#include "history_figures.h"
#include "history_record.h"

#include <glib.h>
#include <jansson.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <time.h>

SrMoment
sr_moment_now(void)
{
  struct timespec now = {0};
  clock_gettime(CLOCK_REALTIME, &now);
  struct tm local = {0};
  (void)localtime_r(&now.tv_sec, &local);
  return (SrMoment){(int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000, (int)local.tm_gmtoff};
}

int
sr_moment_day(const SrMoment moment)
{
  const int64_t local_ms = moment.utc_ms + (int64_t)moment.offset_s * 1000;
  const int64_t day_ms = INT64_C(86400000);
  return (int)(local_ms / day_ms - (local_ms % day_ms < 0));
}

/// A random UUID (RFC 4122, version 4), from the system, so that a forked process has another; NULL
/// without memory.
static char*
make_uid(void)
{
  unsigned char b[16];
  if (getrandom(b, sizeof(b), 0) != (ssize_t)sizeof(b)) {
    gchar* const uuid = g_uuid_string_random();
    char* const copy = strdup(uuid);
    g_free(uuid);
    return copy;
  }
  b[6] = (unsigned char)((b[6] & 0x0F) | 0x40);
  b[8] = (unsigned char)((b[8] & 0x3F) | 0x80);
  char* uid = NULL;
  return asprintf(&uid, "%02x%02x%02x%02x-%02x%02x-%02x%02x-%02x%02x-%02x%02x%02x%02x%02x%02x",
                  b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7], b[8], b[9], b[10], b[11], b[12],
                  b[13], b[14], b[15]) < 0
             ? NULL
             : uid;
}

/// A copy in valid UTF-8 of at most `most` bytes; NULL for NULL or without memory.
static char*
copy_clean(const char* const text, const size_t most)
{
  char* const copy = text ? (char*)malloc(most + 1) : NULL;
  if (copy) {
    (void)sr_utf8_copy_clean(copy, most + 1, text);
  }
  return copy;
}

/// Whether a text could not be copied.
static bool
lacks(const char* const text, const char* const copy)
{
  return text && !copy;
}

/// The path of a phrase's file that still holds when the player stands in another folder.
static char*
whole_path(const char* const file)
{
  char* const real = file ? realpath(file, NULL) : NULL;
  char* const copy = copy_clean(real ? real : file, 4096);
  free(real);
  return copy;
}

/// The name of a take in our folder; NULL for one elsewhere, or none.
static char*
take_name(const char* const path)
{
  const char* const slash = path ? strrchr(path, '/') : NULL;
  char* folder = NULL;
  if (!slash || sr_data_folder("takes", "takes", false, &folder, NULL) != SR_OK) {
    return NULL;
  }
  const size_t length = (size_t)(slash - path);
  const bool here = strlen(folder) == length && !strncmp(folder, path, length);
  free(folder);
  return here && slash[1] ? strdup(slash + 1) : NULL;
}

/// The bars as JSON; NULL without memory.
static char*
bars_text(const SrRound* const round)
{
  size_t count = 0;
  SrBarFigures* const bars = sr_round_bars(round, &count);
  json_t* const list = bars ? json_array() : NULL;
  for (size_t i = 0; bars && i < count; ++i) {
    const SrBarFigures* const bar = &bars[i];
    json_array_append_new(list, json_pack("{s:i, s:i, s:i, s:i, s:i, s:i, s:i, s:i, s:i}", "bar",
                                          bar->bar, "notes", (int)bar->notes, "wrong",
                                          (int)bar->wrong, "joined", (int)bar->joined, "cuts",
                                          (int)bar->cuts, "cuts_faulty", (int)bar->cuts_faulty,
                                          "inserted", (int)bar->inserted, "slips", (int)bar->slips,
                                          "air_heard", (int)bar->air_heard));
  }
  char* const text = list && json_array_size(list) == count ? json_dumps(list, JSON_COMPACT) : NULL;
  json_decref(list);
  free(bars);
  return text;
}

static const char*
click_word(const SrPlayedClick click)
{
  switch (click) {
  case SR_CLICK_PULSES:
    return "pulses";
  case SR_CLICK_BARS:
    return "bars";
  case SR_CLICK_NONE:
    break;
  }
  return "none";
}

static void
fill_figures(const SrRound* const round, SrHistoryRecord* const record)
{
  const SrRoundFigures figures = sr_round_figures(round);
  record->played_bpm = round->pulse.played_bpm;
  record->score_cuts = round->scores.cuts;
  record->score_evenness = round->scores.evenness;
  record->score_air = round->scores.air;
  record->clean = round->clean;
  record->notes = figures.notes;
  record->notes_right = figures.notes_right;
  record->cuts = figures.cuts;
  record->cuts_clean = figures.cuts_clean;
  record->air = figures.air;
  record->air_heard = figures.air_heard;
  record->spread_ms = figures.spread_ms;
  record->offset_ms = figures.offset_ms;
  record->alone = figures.alone;
  record->alone_ms = figures.alone_ms;
  record->seconds = figures.seconds;
}

/// Fill in what was practised, when and how; false without memory.
static bool
fill_practice(const SrPhrase* const phrase, const SrPractice* const practice, const SrMoment moment,
              SrHistoryRecord* const record)
{
  const char part[2] = {practice->choice.part, '\0'};
  char identity[SR_IDENTITY_SIZE];
  sr_phrase_identity(phrase, identity);
  record->uid = make_uid();
  record->utc_ms = moment.utc_ms;
  record->utc_offset_s = moment.offset_s;
  record->identity = strdup(identity);
  record->title = copy_clean(sr_phrase_title(phrase), 4096);
  record->file = whole_path(practice->file);
  record->tune = sr_phrase_tune(phrase);
  record->first_bar = record->last_bar = sr_phrase_bar(phrase, 0)->number;
  for (size_t i = 1; i < sr_phrase_bar_count(phrase); ++i) {
    const int number = sr_phrase_bar(phrase, i)->number;
    record->first_bar = number < record->first_bar ? number : record->first_bar;
    record->last_bar = number > record->last_bar ? number : record->last_bar;
  }
  record->chosen_bars = practice->choice.first_bar || practice->choice.last_bar;
  record->part = strdup(part);
  record->transposed = sr_phrase_transposed(phrase);
  record->phrase_notes = (int64_t)sr_phrase_note_count(phrase);
  record->asked_bpm = practice->asked_bpm;
  record->click = strdup(click_word(practice->click));
  record->on_bars = practice->on_bars;
  record->off_bars = practice->off_bars;
  record->layout = copy_clean(practice->layout, 4096);
  record->style = copy_clean(practice->style, 4096);
  record->take = take_name(practice->take);
  record->take_marked = record->take ? 0.0 : (double)NAN;
  return identity[0] && record->uid && record->identity && record->title && record->part &&
         record->click && !lacks(practice->file, record->file) &&
         !lacks(practice->layout, record->layout) && !lacks(practice->style, record->style);
}

/// Fill in a round; false without memory.
static bool
fill_round(const SrRound* const round, const char* const json, SrHistoryRecord* const record)
{
  record->bars = bars_text(round);
  record->assessment = json ? strdup(json) : NULL;
  fill_figures(round, record);
  return record->bars && !lacks(json, record->assessment);
}

/// Add a record as a transaction of its own.
static int
add(SrHistory* const history, SrHistoryRecord* const record, const bool finished)
{
  if (!history->database) {
    return SQLITE_CANTOPEN;
  }
  // IMMEDIATE waits for another writer here, where waiting is possible
  const int code = sr_history_run(history->database, "BEGIN IMMEDIATE");
  return code != SQLITE_OK
             ? code
             : sr_history_end(history->database,
                              finished ? sr_history_insert(history, record, NULL)
                                       : sr_history_insert_unfinished(history, record));
}

/// Add a record, to a new history if this one is damaged.
static SrStatus
add_safely(SrHistory* const history, SrHistoryRecord* const record, const bool finished,
           SrError* const error)
{
  int code = add(history, record, finished);
  if (sr_history_is_damage(code) || !history->database) {
    code = sr_history_set_aside(history, code, NULL) ? add(history, record, finished) : code;
  }
  return code == SQLITE_OK ? SR_OK : sr_history_refuse(history, code, error);
}

SrStatus
sr_history_add_round(SrHistory* const history, const SrPhrase* const phrase,
                     const SrAssessment* const assessment, const size_t round,
                     const SrPractice* const practice, const char* const json,
                     const SrMoment* const moment, SrError* const error)
{
  SrHistoryRecord record = sr_record_none();
  const SrMoment now = moment ? *moment : sr_moment_now();
  SrStatus status = SR_OK;
  if (!fill_practice(phrase, practice, now, &record) ||
      !fill_round(&assessment->rounds[round], json, &record)) {
    status = sr_error_set(error, SR_NO_MEMORY,
                          "There is not enough memory to keep this round in the history.");
  } else {
    status = add_safely(history, &record, true, error);
  }
  sr_record_clear(&record);
  return status;
}

SrStatus
sr_history_add_unfinished(SrHistory* const history, const SrPhrase* const phrase,
                          const SrUnfinishedRound* const round, const SrPractice* const practice,
                          const SrMoment* const moment, SrError* const error)
{
  SrHistoryRecord record = sr_record_none();
  const SrMoment now = moment ? *moment : sr_moment_now();
  SrStatus status = SR_OK;
  if (!fill_practice(phrase, practice, now, &record)) {
    status = sr_error_set(error, SR_NO_MEMORY,
                          "There is not enough memory to keep this round in the history.");
  } else {
    record.notes = round->notes;
    record.seconds = round->seconds;
    status = add_safely(history, &record, false, error);
  }
  sr_record_clear(&record);
  return status;
}
