// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file history_record.h
   A round with everything that is kept of it, as it is added, exported and imported; and the names
   of its fields, the same in the database, in files and in statements.
*/

#ifndef SR_STORE_HISTORY_RECORD_H
#define SR_STORE_HISTORY_RECORD_H

#include "history_database.h"

#include <stddef.h>
#include <stdint.h>

/// A field's value; history_file.h tells what the fields mean. NAN and NULL are absent.
typedef struct {
  char* uid;
  int64_t utc_ms;
  int64_t utc_offset_s;
  char* identity;
  char* title;
  char* file;
  int64_t tune;
  int64_t first_bar;
  int64_t last_bar;
  int64_t chosen_bars;
  char* part;
  int64_t transposed;
  int64_t phrase_notes;
  double asked_bpm;
  double played_bpm;
  char* click;
  int64_t on_bars;
  int64_t off_bars;
  char* layout;
  char* style;
  double score_cuts;
  double score_evenness;
  double score_air;
  int64_t clean;
  int64_t notes;
  int64_t notes_right;
  int64_t cuts;
  int64_t cuts_clean;
  int64_t air;
  int64_t air_heard;
  double spread_ms;
  double offset_ms;
  int64_t alone;
  double alone_ms;
  double seconds;
  char* take;
  double take_bytes;      ///< A count below 2^53; NAN until the take is saved
  double take_changed_ms; ///< The same
  double take_marked;     ///< 0, 1; NAN without a take
  char* bars;             ///< JSON
  char* assessment;       ///< JSON
  int64_t phrase;         ///< No field of files: its row, filled in when it is added
  int64_t take_row;       ///< The same; 0 without one
  int64_t round;          ///< The same
  int64_t day;            ///< The same
} SrHistoryRecord;

/// Kinds of fields.
typedef enum {
  SR_FIELD_COUNT, ///< int64_t
  SR_FIELD_REAL,  ///< double; absent is NAN
  SR_FIELD_WHOLE, ///< double that is a whole number; absent is NAN
  SR_FIELD_TEXT,  ///< char*, which the record owns
  SR_FIELD_JSON,  ///< char*, JSON on one line
} SrFieldKind;

typedef struct {
  const char* name;
  SrFieldKind kind;
  int decimals;  ///< A number is rounded to these
  size_t at;     ///< Offset in the record
  double least;  ///< Range of a number
  double most;   ///< Range of a number; longest text, bytes
  bool required; ///< It cannot be absent
} SrField;

/// Fields of files, in their order.
extern const SrField sr_fields[];
extern const size_t sr_field_count;

/// A field's value in a record.
int64_t* sr_field_integer(const SrField* field, SrHistoryRecord* record);
double* sr_field_real(const SrField* field, SrHistoryRecord* record);
char** sr_field_text(const SrField* field, SrHistoryRecord* record);

/// A record without anything in it.
SrHistoryRecord sr_record_none(void);
/// Free what it holds, and empty it.
void sr_record_clear(SrHistoryRecord* record);
/// Round a number as a field of it is kept; NAN stays.
double sr_record_round(const SrField* field, double value);

/**
   Add a record in a transaction that is open. Its numbers are rounded; `utc_ms` and `utc_offset_s`
   tell the day.

   @param added Receives false if the round was known already; NULL if it must not be.
   @return SQLITE_OK or SQLite's code.
*/
int sr_history_insert(SrHistory* history, SrHistoryRecord* record, bool* added);

/// Add one as an unfinished round: of its figures only `notes` and `seconds` are used.
int sr_history_insert_unfinished(SrHistory* history, SrHistoryRecord* record);

/// A statement that reads the record of a round by its row; NULL on error, which is filled.
/// sqlite3_finalize() it.
sqlite3_stmt* sr_record_reader(SrHistory* history, SrError* error);
/// SQLITE_ROW with the record filled, to be cleared, or SQLite's code.
int sr_record_read(sqlite3_stmt* reader, int64_t row, SrHistoryRecord* record);

#endif // SR_STORE_HISTORY_RECORD_H
