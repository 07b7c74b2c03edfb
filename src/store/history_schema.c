// SPDX-License-Identifier: GPL-3.0-or-later

// The tables of the history, version by version. A new database goes through all versions, so that
// each step is run by everyone. A version that was given away is never edited: add another one.

#include "history_database.h"

#include <stdio.h>

// The assessments are in a table of their own, so that a scan of the rounds stays small.
static const char version_1[] =
    "CREATE TABLE phrase ("
    " id INTEGER PRIMARY KEY,"
    " identity TEXT NOT NULL UNIQUE,"
    " title TEXT NOT NULL,"
    " file TEXT,"
    " tune INTEGER NOT NULL,"
    " first_bar INTEGER NOT NULL,"
    " last_bar INTEGER NOT NULL,"
    " chosen_bars INTEGER NOT NULL,"
    " part TEXT NOT NULL,"
    " transposed INTEGER NOT NULL,"
    " phrase_notes INTEGER NOT NULL) STRICT;"
    "CREATE TABLE take ("
    " id INTEGER PRIMARY KEY,"
    " take TEXT NOT NULL UNIQUE," // File name in the takes folder
    " phrase INTEGER NOT NULL REFERENCES phrase,"
    " take_bytes INTEGER,"      // Null until it is saved, and when it was removed
    " take_changed_ms INTEGER," // Of the file
    " take_marked INTEGER NOT NULL DEFAULT 0) STRICT;"
    "CREATE TABLE round ("
    " id INTEGER PRIMARY KEY,"
    " uid TEXT NOT NULL UNIQUE," // The same after export and import
    " phrase INTEGER NOT NULL REFERENCES phrase,"
    " take INTEGER REFERENCES take,"
    " utc_ms INTEGER NOT NULL,"
    " utc_offset_s INTEGER NOT NULL,"
    " day INTEGER NOT NULL,"
    " asked_bpm REAL, played_bpm REAL,"
    " click TEXT NOT NULL,"
    " on_bars INTEGER NOT NULL, off_bars INTEGER NOT NULL,"
    " layout TEXT, style TEXT,"
    " score_cuts REAL, score_evenness REAL, score_air REAL,"
    " clean INTEGER NOT NULL,"
    " notes INTEGER NOT NULL, notes_right INTEGER NOT NULL,"
    " cuts INTEGER NOT NULL, cuts_clean INTEGER NOT NULL,"
    " air INTEGER NOT NULL, air_heard INTEGER NOT NULL,"
    " spread_ms REAL, offset_ms REAL,"
    " alone INTEGER NOT NULL, alone_ms REAL,"
    " seconds REAL NOT NULL) STRICT;"
    "CREATE INDEX round_of_phrase ON round (phrase, utc_ms);"
    "CREATE INDEX round_of_take ON round (take);"
    "CREATE TABLE bar ("
    " round INTEGER NOT NULL REFERENCES round,"
    " bar INTEGER NOT NULL,"
    " notes INTEGER NOT NULL, wrong INTEGER NOT NULL, joined INTEGER NOT NULL,"
    " cuts INTEGER NOT NULL, cuts_faulty INTEGER NOT NULL,"
    " inserted INTEGER NOT NULL, slips INTEGER NOT NULL, air_heard INTEGER NOT NULL,"
    " PRIMARY KEY (round, bar)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE assessment ("
    " round INTEGER PRIMARY KEY REFERENCES round,"
    " json TEXT NOT NULL) STRICT;";

// Sums of a day, so that ten years are read in a moment. A trigger adds each round in the same
// transaction.
#define DAY_SUMS                                                                                   \
  " phrase, day, 1, clean, CASE WHEN clean AND played_bpm IS NOT NULL THEN 1 ELSE 0 END,"          \
  " CASE WHEN clean THEN coalesce(played_bpm, 0.0) ELSE 0.0 END,"                                  \
  " CASE WHEN clean THEN played_bpm END,"                                                          \
  " notes, notes_right, cuts, cuts_clean, air, air_heard,"                                         \
  " spread_ms IS NOT NULL, coalesce(spread_ms, 0.0),"                                              \
  " offset_ms IS NOT NULL, coalesce(offset_ms, 0.0), abs(coalesce(offset_ms, 0.0)),"               \
  " CASE WHEN alone_ms IS NULL THEN 0 ELSE alone END,"                                             \
  " CASE WHEN alone_ms IS NULL THEN 0.0 ELSE alone * alone_ms END,"                                \
  " seconds, utc_ms, utc_offset_s"
#define DAY_COLUMNS                                                                                \
  " phrase, day, rounds, clean_rounds, clean_bpm_count, clean_bpm_sum, clean_bpm_best,"            \
  " notes, notes_right, cuts, cuts_clean, air, air_heard,"                                         \
  " spread_count, spread_sum, offset_count, offset_sum, offset_abs_sum,"                           \
  " alone_count, alone_sum, seconds, last_utc_ms, last_offset_s"
#define ADD(column) column " = " column " + excluded." column ","
#define DAY_CONFLICT                                                                               \
  " ON CONFLICT (phrase, day) DO UPDATE SET " ADD("rounds") ADD("clean_rounds")                    \
      ADD("clean_bpm_count") ADD("clean_bpm_sum") ADD("notes") ADD("notes_right") ADD("cuts")      \
          ADD("cuts_clean") ADD("air") ADD("air_heard") ADD("spread_count") ADD("spread_sum")      \
              ADD("offset_count") ADD("offset_sum") ADD("offset_abs_sum") ADD("alone_count")       \
                  ADD("alone_sum") ADD(                                                            \
                      "seconds") " clean_bpm_best = CASE"                                          \
                                 "  WHEN clean_bpm_best IS NULL THEN excluded.clean_bpm_best"      \
                                 "  WHEN excluded.clean_bpm_best IS NULL THEN clean_bpm_best"      \
                                 "  ELSE max(clean_bpm_best, excluded.clean_bpm_best) END,"        \
                                 " last_offset_s = CASE WHEN excluded.last_utc_ms > last_utc_ms"   \
                                 "  THEN excluded.last_offset_s ELSE last_offset_s END,"           \
                                 " last_utc_ms = max(last_utc_ms, excluded.last_utc_ms)"

static const char version_2_table[] =
    "CREATE TABLE practice_day ("
    " phrase INTEGER NOT NULL REFERENCES phrase,"
    " day INTEGER NOT NULL,"
    " rounds INTEGER NOT NULL, clean_rounds INTEGER NOT NULL,"
    " clean_bpm_count INTEGER NOT NULL, clean_bpm_sum REAL NOT NULL, clean_bpm_best REAL,"
    " notes INTEGER NOT NULL, notes_right INTEGER NOT NULL,"
    " cuts INTEGER NOT NULL, cuts_clean INTEGER NOT NULL,"
    " air INTEGER NOT NULL, air_heard INTEGER NOT NULL,"
    " spread_count INTEGER NOT NULL, spread_sum REAL NOT NULL,"
    " offset_count INTEGER NOT NULL, offset_sum REAL NOT NULL, offset_abs_sum REAL NOT NULL,"
    " alone_count INTEGER NOT NULL, alone_sum REAL NOT NULL,"
    " seconds REAL NOT NULL,"
    " last_utc_ms INTEGER NOT NULL, last_offset_s INTEGER NOT NULL,"
    " PRIMARY KEY (phrase, day)) STRICT, WITHOUT ROWID;";

static const char version_2_sums[] =
    // WHERE TRUE: else ON would be read as of a join
    "INSERT INTO practice_day (" DAY_COLUMNS ") SELECT" DAY_SUMS
    " FROM round WHERE TRUE ORDER BY id" DAY_CONFLICT;

static const char version_2_trigger[] =
    "CREATE TRIGGER round_counts AFTER INSERT ON round BEGIN"
    " INSERT INTO practice_day (" DAY_COLUMNS ") SELECT" DAY_SUMS
    " FROM round WHERE id = NEW.id" DAY_CONFLICT ";"
    "END;";

// Apart from the rounds, so that nothing that reads those counts it.
static const char version_3[] =
    "CREATE TABLE unfinished ("
    " id INTEGER PRIMARY KEY,"
    " phrase INTEGER NOT NULL REFERENCES phrase,"
    " take INTEGER REFERENCES take,"
    " utc_ms INTEGER NOT NULL, utc_offset_s INTEGER NOT NULL, day INTEGER NOT NULL,"
    " asked_bpm REAL,"
    " notes INTEGER NOT NULL," // Reached
    " seconds REAL NOT NULL) STRICT;"
    "CREATE INDEX unfinished_of_take ON unfinished (take);";

/// In order; those of a version are run on databases of the versions before it.
static const struct {
  int version;
  const char* sql;
} steps[] = {{1, version_1},
             {2, version_2_table},
             {2, version_2_sums},
             {2, version_2_trigger},
             {3, version_3}};

#define STEP_COUNT (sizeof(steps) / sizeof(steps[0]))

/// The integer of a PRAGMA.
static int
read_number(sqlite3* const database, const char* const sql, int* const number)
{
  sqlite3_stmt* query = NULL;
  int code = sqlite3_prepare_v2(database, sql, -1, &query, NULL);
  if (code == SQLITE_OK) {
    code = sqlite3_step(query);
    *number = code == SQLITE_ROW ? sqlite3_column_int(query, 0) : 0;
    code = code == SQLITE_ROW ? SQLITE_OK : code == SQLITE_DONE ? SQLITE_CORRUPT : code;
  }
  sqlite3_finalize(query);
  return code;
}

int
sr_history_schema_version(sqlite3* const database, int* const version)
{
  int application = 0;
  int tables = 0;
  int code = read_number(database, "PRAGMA application_id", &application);
  if (code == SQLITE_OK) {
    code = read_number(database, "PRAGMA user_version", version);
  }
  if (code == SQLITE_OK) {
    code = read_number(database, "SELECT count(*) FROM sqlite_schema", &tables);
  }
  const bool fresh = !application && !*version && !tables;
  const bool ours = application == SR_HISTORY_APPLICATION && *version > 0 && tables > 0;
  return code == SQLITE_OK && !fresh && !ours ? SQLITE_NOTADB : code;
}

int
sr_history_schema_update(sqlite3* const database)
{
  int version = 0;
  int code = sr_history_schema_version(database, &version);
  if (code != SQLITE_OK || version == SR_HISTORY_VERSION) {
    return code;
  }
  if (version > SR_HISTORY_VERSION) {
    return SQLITE_MISMATCH;
  }
  code = sr_history_run(database, "BEGIN IMMEDIATE");
  if (code != SQLITE_OK) {
    return code;
  }
  // Another program may have been first
  code = sr_history_schema_version(database, &version);
  for (size_t i = 0; code == SQLITE_OK && i < STEP_COUNT; ++i) {
    code = steps[i].version > version ? sr_history_run(database, steps[i].sql) : SQLITE_OK;
  }
  if (code == SQLITE_OK) {
    char sql[96];
    snprintf(sql, sizeof(sql), "PRAGMA application_id = %d; PRAGMA user_version = %d",
             SR_HISTORY_APPLICATION, SR_HISTORY_VERSION);
    code = sr_history_run(database, sql);
  }
  return sr_history_end(database, code);
}
