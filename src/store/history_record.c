// SPDX-License-Identifier: GPL-3.0-or-later

#include "history_record.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Largest whole number that a double holds together with all smaller ones
#define MOST_WHOLE 9007199254740992.0
#define MOST_COUNT 1e9
#define MOST_PATH 4096.0
#define MOST_JSON 67108864.0

#define COUNT(name, least, most)                                                                   \
  {                                                                                                \
#name, SR_FIELD_COUNT, 0, offsetof(SrHistoryRecord, name), least, most, true                   \
  }
#define REAL(name, least, most, decimals)                                                          \
  {                                                                                                \
#name, SR_FIELD_REAL, decimals, offsetof(SrHistoryRecord, name), least, most, false            \
  }
#define WHOLE(name, most)                                                                          \
  {                                                                                                \
#name, SR_FIELD_WHOLE, 0, offsetof(SrHistoryRecord, name), 0.0, most, false                    \
  }
#define TEXT(name, required, most)                                                                 \
  {                                                                                                \
#name, SR_FIELD_TEXT, 0, offsetof(SrHistoryRecord, name), 0.0, most, required                  \
  }
#define JSON(name, required)                                                                       \
  {                                                                                                \
#name, SR_FIELD_JSON, 0, offsetof(SrHistoryRecord, name), 0.0, MOST_JSON, required             \
  }

const SrField sr_fields[] = {
    TEXT(uid, true, 64.0),
    COUNT(utc_ms, 0.0, 253402300799999.0), // To the end of the year 9999
    COUNT(utc_offset_s, -86400.0, 86400.0),
    TEXT(identity, true, 64.0),
    TEXT(title, true, MOST_PATH),
    TEXT(file, false, MOST_PATH),
    COUNT(tune, -2147483648.0, 2147483647.0),
    COUNT(first_bar, 0.0, MOST_COUNT),
    COUNT(last_bar, 0.0, MOST_COUNT),
    COUNT(chosen_bars, 0.0, 1.0),
    TEXT(part, true, 1.0),
    COUNT(transposed, -127.0, 127.0),
    COUNT(phrase_notes, 0.0, MOST_COUNT),
    REAL(asked_bpm, 0.0, 1e6, 3),
    REAL(played_bpm, 0.0, 1e6, 3),
    TEXT(click, true, 8.0),
    COUNT(on_bars, 0.0, MOST_COUNT),
    COUNT(off_bars, 0.0, MOST_COUNT),
    TEXT(layout, false, MOST_PATH),
    TEXT(style, false, MOST_PATH),
    REAL(score_cuts, 0.0, 100.0, 3),
    REAL(score_evenness, 0.0, 100.0, 3),
    REAL(score_air, 0.0, 100.0, 3),
    COUNT(clean, 0.0, 1.0),
    COUNT(notes, 0.0, MOST_COUNT),
    COUNT(notes_right, 0.0, MOST_COUNT),
    COUNT(cuts, 0.0, MOST_COUNT),
    COUNT(cuts_clean, 0.0, MOST_COUNT),
    COUNT(air, 0.0, MOST_COUNT),
    COUNT(air_heard, 0.0, MOST_COUNT),
    REAL(spread_ms, 0.0, 1e9, 3),
    REAL(offset_ms, -1e9, 1e9, 3),
    COUNT(alone, 0.0, MOST_COUNT),
    REAL(alone_ms, 0.0, 1e9, 3),
    {"seconds", SR_FIELD_REAL, 3, offsetof(SrHistoryRecord, seconds), 0.0, 1e9, true},
    TEXT(take, false, 255.0),
    WHOLE(take_bytes, MOST_WHOLE),
    WHOLE(take_changed_ms, MOST_WHOLE),
    WHOLE(take_marked, 1.0),
    JSON(bars, true),
    JSON(assessment, false),
};

const size_t sr_field_count = sizeof(sr_fields) / sizeof(sr_fields[0]);

static void*
place_of(const SrField* const field, SrHistoryRecord* const record)
{
  return (char*)record + field->at;
}

int64_t*
sr_field_integer(const SrField* const field, SrHistoryRecord* const record)
{
  return (int64_t*)place_of(field, record);
}

double*
sr_field_real(const SrField* const field, SrHistoryRecord* const record)
{
  return (double*)place_of(field, record);
}

char**
sr_field_text(const SrField* const field, SrHistoryRecord* const record)
{
  return (char**)place_of(field, record);
}

SrHistoryRecord
sr_record_none(void)
{
  SrHistoryRecord record = {.uid = NULL};
  for (size_t i = 0; i < sr_field_count; ++i) {
    const SrField* const field = &sr_fields[i];
    if (field->kind == SR_FIELD_REAL || field->kind == SR_FIELD_WHOLE) {
      *sr_field_real(field, &record) = (double)NAN;
    }
  }
  return record;
}

void
sr_record_clear(SrHistoryRecord* const record)
{
  for (size_t i = 0; i < sr_field_count; ++i) {
    const SrField* const field = &sr_fields[i];
    if (field->kind == SR_FIELD_TEXT || field->kind == SR_FIELD_JSON) {
      free(*sr_field_text(field, record));
    }
  }
  *record = sr_record_none();
}

double
sr_record_round(const SrField* const field, const double value)
{
  if (!isfinite(value)) {
    return (double)NAN;
  }
  const double scale = pow(10.0, field->decimals);
  const double rounded = round(value * scale) / scale;
  // Adding 0 turns -0 into 0
  return fmin(field->most, fmax(field->least, rounded)) + 0.0;
}

/// Give a statement the values that it names.
static int
bind_record(sqlite3_stmt* const statement, SrHistoryRecord* const record)
{
  const struct {
    const char* name;
    int64_t value;
  } rows[] = {{":phrase", record->phrase},
              {":take_row", record->take_row},
              {":round", record->round},
              {":day", record->day}};
  int code = SQLITE_OK;
  for (size_t i = 0; code == SQLITE_OK && i < sizeof(rows) / sizeof(rows[0]); ++i) {
    const int at = sqlite3_bind_parameter_index(statement, rows[i].name);
    if (at && rows[i].value) {
      code = sqlite3_bind_int64(statement, at, rows[i].value);
    } else if (at) {
      // Day 0 is a day; rows begin with 1
      code = strcmp(rows[i].name, ":day") ? sqlite3_bind_null(statement, at)
                                          : sqlite3_bind_int64(statement, at, 0);
    }
  }
  for (size_t i = 0; code == SQLITE_OK && i < sr_field_count; ++i) {
    const SrField* const field = &sr_fields[i];
    char name[32] = ":";
    strncat(name, field->name, sizeof(name) - 2);
    const int at = sqlite3_bind_parameter_index(statement, name);
    if (!at) {
      continue;
    }
    switch (field->kind) {
    case SR_FIELD_COUNT:
      code = sqlite3_bind_int64(statement, at, *sr_field_integer(field, record));
      break;
    case SR_FIELD_REAL:
    case SR_FIELD_WHOLE: {
      const double value = sr_record_round(field, *sr_field_real(field, record));
      code = isnan(value)                    ? sqlite3_bind_null(statement, at)
             : field->kind == SR_FIELD_WHOLE ? sqlite3_bind_int64(statement, at, (int64_t)value)
                                             : sqlite3_bind_double(statement, at, value);
      break;
    }
    case SR_FIELD_TEXT:
    case SR_FIELD_JSON: {
      const char* const text = *sr_field_text(field, record);
      code = text ? sqlite3_bind_text(statement, at, text, -1, SQLITE_STATIC)
                  : sqlite3_bind_null(statement, at);
      break;
    }
    }
  }
  return code;
}

// What is known of a phrase or a take is that of its newest round; a mark stays.
static const char insert_phrase[] =
    "INSERT INTO phrase (identity, title, file, tune, first_bar, last_bar, chosen_bars, part,"
    " transposed, phrase_notes) VALUES (:identity, :title, :file, :tune, :first_bar, :last_bar,"
    " :chosen_bars, :part, :transposed, :phrase_notes)"
    " ON CONFLICT (identity) DO UPDATE SET title = CASE WHEN excluded.title = '' THEN title"
    "  ELSE excluded.title END, file = coalesce(excluded.file, file), tune = excluded.tune,"
    " first_bar = excluded.first_bar, last_bar = excluded.last_bar,"
    " chosen_bars = excluded.chosen_bars, part = excluded.part,"
    " transposed = excluded.transposed"
    " WHERE :utc_ms >= coalesce((SELECT max(last_utc_ms) FROM practice_day"
    "  WHERE practice_day.phrase = phrase.id), 0)"
    " RETURNING id";

static const char insert_take[] =
    "INSERT INTO take (take, phrase, take_bytes, take_changed_ms, take_marked)"
    " VALUES (:take, :phrase, :take_bytes, :take_changed_ms, coalesce(:take_marked, 0))"
    " ON CONFLICT (take) DO UPDATE SET take_marked = max(take_marked, excluded.take_marked)"
    " RETURNING id";

static const char insert_round[] =
    "INSERT INTO round (uid, phrase, take, utc_ms, utc_offset_s, day, asked_bpm, played_bpm,"
    " click, on_bars, off_bars, layout, style, score_cuts, score_evenness, score_air, clean,"
    " notes, notes_right, cuts, cuts_clean, air, air_heard, spread_ms, offset_ms, alone,"
    " alone_ms, seconds) VALUES (:uid, :phrase, :take_row, :utc_ms, :utc_offset_s, :day,"
    " :asked_bpm, :played_bpm, :click, :on_bars, :off_bars, :layout, :style, :score_cuts,"
    " :score_evenness, :score_air, :clean, :notes, :notes_right, :cuts, :cuts_clean, :air,"
    " :air_heard, :spread_ms, :offset_ms, :alone, :alone_ms, :seconds) RETURNING id";

static const char insert_bars[] =
    "INSERT INTO bar (round, bar, notes, wrong, joined, cuts, cuts_faulty, inserted, slips,"
    " air_heard) SELECT :round, value ->> 'bar', value ->> 'notes', value ->> 'wrong',"
    " value ->> 'joined', value ->> 'cuts', value ->> 'cuts_faulty', value ->> 'inserted',"
    " value ->> 'slips', value ->> 'air_heard' FROM json_each(:bars)";

static const char insert_assessment[] =
    "INSERT INTO assessment (round, json) SELECT :round, :assessment"
    " WHERE :assessment IS NOT NULL";

static const char insert_unfinished[] =
    "INSERT INTO unfinished (phrase, take, utc_ms, utc_offset_s, day, asked_bpm, notes, seconds)"
    " VALUES (:phrase, :take_row, :utc_ms, :utc_offset_s, :day, :asked_bpm, :notes, :seconds)";

static const char* const inserts[SR_STATEMENT_COUNT] = {
    [SR_STATEMENT_PHRASE] = insert_phrase,         [SR_STATEMENT_TAKE] = insert_take,
    [SR_STATEMENT_ROUND] = insert_round,           [SR_STATEMENT_BARS] = insert_bars,
    [SR_STATEMENT_ASSESSMENT] = insert_assessment, [SR_STATEMENT_UNFINISHED] = insert_unfinished,
};

/// Run one of the statements above. `row` receives the id it returns, if any; NULL for none.
static int
run_insert(SrHistory* const history, const SrStatementKind kind, SrHistoryRecord* const record,
           int64_t* const row)
{
  sqlite3_stmt** const statement = &history->statements[kind];
  int code = SQLITE_OK;
  if (!*statement) {
    code = sqlite3_prepare_v3(history->database, inserts[kind], -1, SQLITE_PREPARE_PERSISTENT,
                              statement, NULL);
  }
  if (code == SQLITE_OK) {
    code = bind_record(*statement, record);
  }
  if (code == SQLITE_OK) {
    do {
      code = sqlite3_step(*statement);
      if (code == SQLITE_ROW && row) {
        *row = sqlite3_column_int64(*statement, 0);
      }
    } while (code == SQLITE_ROW);
    const int end = sqlite3_reset(*statement);
    code = code == SQLITE_DONE ? SQLITE_OK : end;
  }
  if (*statement) {
    (void)sqlite3_clear_bindings(*statement);
  }
  return code;
}

/// The id of a row with a text in a column; 0 if there is none.
static int
find_row(sqlite3* const database, const char* const sql, const char* const text, int64_t* const row)
{
  sqlite3_stmt* query = NULL;
  int code = sqlite3_prepare_v2(database, sql, -1, &query, NULL);
  if (code == SQLITE_OK) {
    code = sqlite3_bind_text(query, 1, text, -1, SQLITE_STATIC);
  }
  if (code == SQLITE_OK) {
    code = sqlite3_step(query);
    *row = code == SQLITE_ROW ? sqlite3_column_int64(query, 0) : 0;
    code = code == SQLITE_ROW || code == SQLITE_DONE ? SQLITE_OK : code;
  }
  sqlite3_finalize(query);
  return code;
}

/// Add its phrase and its take, if they are not known, and fill in their rows and the day.
static int
insert_before(SrHistory* const history, SrHistoryRecord* const record)
{
  const SrMoment moment = {record->utc_ms, (int)record->utc_offset_s};
  record->day = sr_moment_day(moment);
  record->phrase = record->take_row = record->round = 0;
  int code = run_insert(history, SR_STATEMENT_PHRASE, record, &record->phrase);
  // An older round changes nothing of its phrase, and returns no row
  if (code == SQLITE_OK && !record->phrase) {
    code = find_row(history->database, "SELECT id FROM phrase WHERE identity = ?", record->identity,
                    &record->phrase);
  }
  return code == SQLITE_OK && record->take
             ? run_insert(history, SR_STATEMENT_TAKE, record, &record->take_row)
             : code;
}

int
sr_history_insert_unfinished(SrHistory* const history, SrHistoryRecord* const record)
{
  const int code = insert_before(history, record);
  return code == SQLITE_OK ? run_insert(history, SR_STATEMENT_UNFINISHED, record, NULL) : code;
}

int
sr_history_insert(SrHistory* const history, SrHistoryRecord* const record, bool* const added)
{
  sqlite3* const database = history->database;
  int64_t known = 0;
  int code = added ? find_row(database, "SELECT id FROM round WHERE uid = ?", record->uid, &known)
                   : SQLITE_OK;
  if (added) {
    *added = code == SQLITE_OK && !known;
  }
  if (code != SQLITE_OK || known) {
    return code;
  }
  code = insert_before(history, record);
  if (code == SQLITE_OK) {
    code = run_insert(history, SR_STATEMENT_ROUND, record, &record->round);
  }
  if (code == SQLITE_OK && record->bars) {
    code = run_insert(history, SR_STATEMENT_BARS, record, NULL);
  }
  return code == SQLITE_OK ? run_insert(history, SR_STATEMENT_ASSESSMENT, record, NULL) : code;
}
