// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file history_database.h
   The history's database, for the files that read and write it.
*/

#ifndef SR_STORE_HISTORY_DATABASE_H
#define SR_STORE_HISTORY_DATABASE_H

#include <steadyreed/history.h>

#include <sqlite3.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

/// PRAGMA application_id: "SRhi".
#define SR_HISTORY_APPLICATION 0x53526869

/// Statements kept prepared, since import runs them for each round.
typedef enum {
  SR_STATEMENT_PHRASE,
  SR_STATEMENT_TAKE,
  SR_STATEMENT_ROUND,
  SR_STATEMENT_BARS,
  SR_STATEMENT_ASSESSMENT,
  SR_STATEMENT_UNFINISHED,
  SR_STATEMENT_COUNT
} SrStatementKind;

struct SrHistoryImpl {
  sqlite3* database; ///< NULL if it could not be opened again after it was set aside
  char* path;
  SrHistoryUse use;
  dev_t device; ///< Of the open file, to know it again
  ino_t inode;
  sqlite3_stmt* statements[SR_STATEMENT_COUNT];
  char remark[SR_ERROR_MESSAGE_SIZE]; ///< "" for none
  char said[SR_ERROR_MESSAGE_SIZE];   ///< The one last taken
};

/// Create or update the tables, all or nothing. SQLITE_OK or SQLite's code; SQLITE_MISMATCH for a
/// newer version, SQLITE_NOTADB for another program's database.
int sr_history_schema_update(sqlite3* database);
/// The version there is, 0 for an empty database. SQLITE_OK or SQLite's code; SQLITE_NOTADB for
/// another program's database.
int sr_history_schema_version(sqlite3* database, int* version);
/// Open a file that may only be read. Of an older version this is a copy in memory, brought up to
/// date, that refuses changes. SQLITE_OK or SQLite's code.
int sr_history_open_to_look(const char* path, sqlite3** database);

/// What an SQLite code means to a player; returns the status. The history's path is the place.
SrStatus sr_history_refuse(const SrHistory* history, int code, SrError* error);
/// Whether a code says that the file cannot be used as it is.
bool sr_history_is_damage(int code);
/// Rename an unusable file and open a new one, unless another program did so before. False if that
/// fails; the history then has no database.
bool sr_history_set_aside(SrHistory* history, int code, SrError* error);

/// Run a command without a result. SQLITE_OK or SQLite's code.
int sr_history_run(sqlite3* database, const char* sql);
/// End a transaction: commit if `code` is SQLITE_OK, otherwise roll back. Returns the code.
int sr_history_end(sqlite3* database, int code);
/// A statement to read with; NULL on error, which is filled. sqlite3_finalize() it.
sqlite3_stmt* sr_history_query(SrHistory* history, const char* sql, SrError* error);
/// The status after the last row of a query, which is finalized. `code` is that of the last step.
SrStatus sr_history_query_end(SrHistory* history, sqlite3_stmt* query, int code, SrError* error);
/// A column as a number; NAN for null.
double sr_history_real(sqlite3_stmt* query, int column);
/// A column as a count, at least 0.
unsigned sr_history_count(sqlite3_stmt* query, int column);
/// A column as a new text; NULL for null or without memory.
char* sr_history_text(sqlite3_stmt* query, int column);

#endif // SR_STORE_HISTORY_DATABASE_H
