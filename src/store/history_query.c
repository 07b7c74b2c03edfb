// SPDX-License-Identifier: GPL-3.0-or-later

// What is asked of the history.

#include "history_database.h"
#include "history_rows.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to read the history.");
}

/// Read the rows of a query, which is finalized. What was read until an error stays in the list.
static SrStatus
read_list(SrHistory* const history, sqlite3_stmt* const query, const size_t size,
          SrHistoryTakeRow* const take, void** const list, size_t* const count,
          SrError* const error)
{
  const int code = sr_history_rows(query, size, take, list, count);
  const bool enough = code != SQLITE_NOMEM;
  const SrStatus status = sr_history_query_end(history, query, enough ? code : SQLITE_DONE, error);
  return enough ? status : no_memory(error);
}

void
sr_history_phrases_del(SrHistoryPhrase* const phrases, const size_t count)
{
  for (size_t i = 0; phrases && i < count; ++i) {
    free(phrases[i].title);
    free(phrases[i].file);
  }
  free(phrases);
}

static bool
take_phrase(sqlite3_stmt* const query, void* const element)
{
  SrHistoryPhrase* const phrase = (SrHistoryPhrase*)element;
  *phrase =
      (SrHistoryPhrase){.id = sqlite3_column_int64(query, 0),
                        .title = sr_history_text(query, 2),
                        .file = sr_history_text(query, 3),
                        .tune = sqlite3_column_int(query, 4),
                        .first_bar = sqlite3_column_int(query, 5),
                        .last_bar = sqlite3_column_int(query, 6),
                        .chosen_bars = sqlite3_column_int(query, 7) != 0,
                        .transposed = sqlite3_column_int(query, 9),
                        .notes = sr_history_count(query, 10),
                        .last = {sqlite3_column_int64(query, 11), sqlite3_column_int(query, 12)}};
  const char* const identity = (const char*)sqlite3_column_text(query, 1);
  const char* const part = (const char*)sqlite3_column_text(query, 8);
  snprintf(phrase->identity, sizeof(phrase->identity), "%s", identity ? identity : "");
  phrase->part = part ? part[0] : '\0';
  return phrase->title != NULL;
}

/// Read the phrases of a query.
static SrStatus
read_phrases(SrHistory* const history, const char* const sql, SrHistoryPhrase** const phrases,
             size_t* const count, SrError* const error)
{
  *phrases = NULL;
  *count = 0;
  sqlite3_stmt* const query = sr_history_query(history, sql, error);
  if (!query) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  void* list = NULL;
  const SrStatus status =
      read_list(history, query, sizeof(SrHistoryPhrase), take_phrase, &list, count, error);
  if (status != SR_OK) {
    sr_history_phrases_del((SrHistoryPhrase*)list, *count);
    list = NULL;
    *count = 0;
  }
  *phrases = (SrHistoryPhrase*)list;
  return status;
}

#define PHRASE_COLUMNS                                                                             \
  "SELECT id, identity, title, file, tune, first_bar, last_bar, chosen_bars, part, transposed,"    \
  " phrase_notes, last.last_utc_ms, last_offset_s FROM phrase"

SrStatus
sr_history_phrases(SrHistory* const history, SrHistoryPhrase** const phrases, size_t* const count,
                   SrError* const error)
{
  return read_phrases(
      history,
      PHRASE_COLUMNS
      // With max(), SQLite takes the other columns from the same row
      " JOIN (SELECT phrase, max(last_utc_ms) AS last_utc_ms, last_offset_s FROM practice_day"
      "  GROUP BY phrase) AS last ON last.phrase = phrase.id"
      " ORDER BY last.last_utc_ms DESC, id",
      phrases, count, error);
}

SrStatus
sr_history_phrases_with_takes(SrHistory* const history, SrHistoryPhrase** const phrases,
                              size_t* const count, SrError* const error)
{
  return read_phrases(
      history,
      PHRASE_COLUMNS
      // As above
      " JOIN (SELECT phrase, max(utc_ms) AS last_utc_ms, utc_offset_s AS last_offset_s FROM"
      "  (SELECT take.phrase, utc_ms, utc_offset_s FROM round JOIN take ON take.id = round.take"
      "   UNION ALL SELECT take.phrase, utc_ms, utc_offset_s FROM unfinished"
      "   JOIN take ON take.id = unfinished.take)"
      "  GROUP BY phrase) AS last ON last.phrase = phrase.id"
      " ORDER BY last.last_utc_ms DESC, id",
      phrases, count, error);
}

/// A mean from a sum and a count; NAN for none.
static double
mean_of(sqlite3_stmt* const query, const int sum, const int count)
{
  const unsigned number = sr_history_count(query, count);
  return number ? sqlite3_column_double(query, sum) / number : (double)NAN;
}

static bool
take_day(sqlite3_stmt* const query, void* const element)
{
  *(SrPracticeDay*)element = (SrPracticeDay){.day = sqlite3_column_int(query, 0),
                                             .rounds = sr_history_count(query, 1),
                                             .clean_rounds = sr_history_count(query, 2),
                                             .clean_bpm = mean_of(query, 4, 3),
                                             .best_clean_bpm = sr_history_real(query, 5),
                                             .notes = sr_history_count(query, 6),
                                             .notes_right = sr_history_count(query, 7),
                                             .cuts = sr_history_count(query, 8),
                                             .cuts_clean = sr_history_count(query, 9),
                                             .air = sr_history_count(query, 10),
                                             .air_heard = sr_history_count(query, 11),
                                             .spread_ms = mean_of(query, 13, 12),
                                             .offset_ms = mean_of(query, 15, 14),
                                             .abs_offset_ms = mean_of(query, 16, 14),
                                             .alone_ms = mean_of(query, 18, 17),
                                             .seconds = sqlite3_column_double(query, 19)};
  return true;
}

/// Read the days of a query.
static SrStatus
read_days(SrHistory* const history, sqlite3_stmt* const query, SrPracticeDay** const days,
          size_t* const count, SrError* const error)
{
  void* list = NULL;
  const SrStatus status =
      read_list(history, query, sizeof(SrPracticeDay), take_day, &list, count, error);
  if (status != SR_OK) {
    free(list);
    list = NULL;
    *count = 0;
  }
  *days = (SrPracticeDay*)list;
  return status;
}

SrStatus
sr_history_days(SrHistory* const history, const int64_t phrase, const int first_day,
                SrPracticeDay** const days, size_t* const count, SrError* const error)
{
  *days = NULL;
  *count = 0;
  sqlite3_stmt* const query = sr_history_query(
      history,
      "SELECT day, rounds, clean_rounds, clean_bpm_count, clean_bpm_sum, clean_bpm_best, notes,"
      " notes_right, cuts, cuts_clean, air, air_heard, spread_count, spread_sum, offset_count,"
      " offset_sum, offset_abs_sum, alone_count, alone_sum, seconds"
      " FROM practice_day WHERE phrase = ? AND day >= ? ORDER BY day",
      error);
  if (!query) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  sqlite3_bind_int64(query, 1, phrase);
  sqlite3_bind_int(query, 2, first_day);
  return read_days(history, query, days, count, error);
}

SrStatus
sr_history_every_day(SrHistory* const history, const int first_day, SrPracticeDay** const days,
                     size_t* const count, SrError* const error)
{
  *days = NULL;
  *count = 0;
  sqlite3_stmt* const query = sr_history_query(
      history,
      "SELECT day, sum(rounds), 0, 0, 0.0, NULL, 0, 0, 0, 0, 0, 0, 0, 0.0, 0, 0.0, 0.0, 0, 0.0,"
      " sum(seconds) FROM practice_day WHERE day >= ? GROUP BY day ORDER BY day",
      error);
  if (!query) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  sqlite3_bind_int(query, 1, first_day);
  return read_days(history, query, days, count, error);
}

static SrPlayedClick
click_of(sqlite3_stmt* const query, const int column)
{
  const char* const word = (const char*)sqlite3_column_text(query, column);
  return !word || !strcmp(word, "none") ? SR_CLICK_NONE
         : !strcmp(word, "bars")        ? SR_CLICK_BARS
                                        : SR_CLICK_PULSES;
}

static bool
take_round(sqlite3_stmt* const query, void* const element)
{
  *(SrHistoryRound*)element = (SrHistoryRound){
      .id = sqlite3_column_int64(query, 0),
      .moment = {sqlite3_column_int64(query, 1), sqlite3_column_int(query, 2)},
      .asked_bpm = sr_history_real(query, 3),
      .played_bpm = sr_history_real(query, 4),
      .click = click_of(query, 5),
      .on_bars = sr_history_count(query, 6),
      .off_bars = sr_history_count(query, 7),
      .scores = {sr_history_real(query, 8), sr_history_real(query, 9), sr_history_real(query, 10)},
      .clean = sqlite3_column_int(query, 11) != 0,
      .figures = {.notes = sr_history_count(query, 12),
                  .notes_right = sr_history_count(query, 13),
                  .cuts = sr_history_count(query, 14),
                  .cuts_clean = sr_history_count(query, 15),
                  .air = sr_history_count(query, 16),
                  .air_heard = sr_history_count(query, 17),
                  .spread_ms = sr_history_real(query, 18),
                  .offset_ms = sr_history_real(query, 19),
                  .alone = sr_history_count(query, 20),
                  .alone_ms = sr_history_real(query, 21),
                  .seconds = sqlite3_column_double(query, 22)},
      .take = sr_history_text(query, 23)};
  return true;
}

void
sr_history_rounds_del(SrHistoryRound* const rounds, const size_t count)
{
  for (size_t i = 0; rounds && i < count; ++i) {
    free(rounds[i].take);
  }
  free(rounds);
}

SrStatus
sr_history_rounds(SrHistory* const history, const int64_t phrase, const int first_day,
                  const int last_day, SrHistoryRound** const rounds, size_t* const count,
                  SrError* const error)
{
  *rounds = NULL;
  *count = 0;
  sqlite3_stmt* const query = sr_history_query(
      history,
      "SELECT round.id, utc_ms, utc_offset_s, asked_bpm, played_bpm, click, on_bars, off_bars,"
      " score_cuts, score_evenness, score_air, clean, notes, notes_right, cuts, cuts_clean, air,"
      " air_heard, spread_ms, offset_ms, alone, alone_ms, seconds, take.take"
      " FROM round LEFT JOIN take ON take.id = round.take"
      " WHERE round.phrase = ? AND day BETWEEN ? AND ? ORDER BY utc_ms, round.id",
      error);
  if (!query) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  sqlite3_bind_int64(query, 1, phrase);
  sqlite3_bind_int(query, 2, first_day);
  sqlite3_bind_int(query, 3, last_day);
  void* list = NULL;
  const SrStatus status =
      read_list(history, query, sizeof(SrHistoryRound), take_round, &list, count, error);
  if (status != SR_OK) {
    sr_history_rounds_del((SrHistoryRound*)list, *count);
    list = NULL;
    *count = 0;
  }
  *rounds = (SrHistoryRound*)list;
  return status;
}

SrStatus
sr_history_assessment(SrHistory* const history, const int64_t round, char** const json,
                      SrError* const error)
{
  *json = NULL;
  sqlite3_stmt* const query =
      sr_history_query(history, "SELECT json FROM assessment WHERE round = ?", error);
  if (!query) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  sqlite3_bind_int64(query, 1, round);
  int code = sqlite3_step(query);
  const bool found = code == SQLITE_ROW;
  if (found) {
    *json = sr_history_text(query, 0);
    code = SQLITE_DONE;
  }
  const SrStatus status = sr_history_query_end(history, query, code, error);
  if (status == SR_OK && !found) {
    return sr_error_set(error, SR_NOT_FOUND, "No assessment of this round was kept.");
  }
  return status == SR_OK && !*json ? no_memory(error) : status;
}

SrStatus
sr_history_worst_bars(SrHistory* const history, const int64_t phrase, const unsigned rounds,
                      SrBarFigures** const bars, size_t* const count, SrError* const error)
{
  return sr_history_worst_bars_before(history, phrase, INT_MAX, rounds, bars, count, error);
}

static bool
take_bar(sqlite3_stmt* const query, void* const element)
{
  *(SrBarFigures*)element = (SrBarFigures){.bar = sqlite3_column_int(query, 0),
                                           .rounds = sr_history_count(query, 1),
                                           .notes = sr_history_count(query, 2),
                                           .wrong = sr_history_count(query, 3),
                                           .joined = sr_history_count(query, 4),
                                           .cuts = sr_history_count(query, 5),
                                           .cuts_faulty = sr_history_count(query, 6),
                                           .inserted = sr_history_count(query, 7),
                                           .slips = sr_history_count(query, 8),
                                           .air_heard = sr_history_count(query, 9),
                                           .faults = sr_history_count(query, 10)};
  return true;
}

SrStatus
sr_history_worst_bars_before(SrHistory* const history, const int64_t phrase, const int day,
                             const unsigned rounds, SrBarFigures** const bars, size_t* const count,
                             SrError* const error)
{
  *bars = NULL;
  *count = 0;
  sqlite3_stmt* const query = sr_history_query(
      history,
      "SELECT bar, count(*), sum(bar.notes), sum(wrong), sum(joined), sum(bar.cuts),"
      " sum(cuts_faulty), sum(inserted), sum(slips), sum(bar.air_heard),"
      " sum(wrong + joined + cuts_faulty + inserted + slips + bar.air_heard) AS faults"
      " FROM (SELECT id FROM round WHERE phrase = ? AND day < ? ORDER BY utc_ms DESC, id DESC "
      "LIMIT ?) AS last"
      " JOIN bar ON bar.round = last.id GROUP BY bar"
      " ORDER BY 1.0 * faults / count(*) DESC, bar",
      error);
  if (!query) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  sqlite3_bind_int64(query, 1, phrase);
  sqlite3_bind_int(query, 2, day);
  sqlite3_bind_int64(query, 3, rounds);
  void* list = NULL;
  const SrStatus status =
      read_list(history, query, sizeof(SrBarFigures), take_bar, &list, count, error);
  if (status != SR_OK) {
    free(list);
    list = NULL;
    *count = 0;
  }
  *bars = (SrBarFigures*)list;
  return status;
}

SrStatus
sr_history_last_clean_bpm(SrHistory* const history, const int64_t phrase, double* const bpm,
                          SrError* const error)
{
  *bpm = (double)NAN;
  sqlite3_stmt* const query =
      sr_history_query(history,
                       "SELECT played_bpm FROM round WHERE phrase = ? AND clean"
                       " AND played_bpm IS NOT NULL ORDER BY utc_ms DESC, id DESC LIMIT 1",
                       error);
  if (!query) {
    return error ? error->status : SR_WRITE_FAILED;
  }
  sqlite3_bind_int64(query, 1, phrase);
  int code = sqlite3_step(query);
  if (code == SQLITE_ROW) {
    *bpm = sr_history_real(query, 0);
    code = SQLITE_DONE;
  }
  return sr_history_query_end(history, query, code, error);
}
