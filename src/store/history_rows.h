// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file history_rows.h
   The rows of a query as an array.
*/

#ifndef SR_STORE_HISTORY_ROWS_H
#define SR_STORE_HISTORY_ROWS_H

#include <sqlite3.h>

#include <stdbool.h>
#include <stddef.h>

/// Take the row of a query into a new element, all of which is set; false without memory.
typedef bool SrHistoryTakeRow(sqlite3_stmt* query, void* element);

/**
   Read all rows.

   @param size Of an element, bytes.
   @param rows Receives an array, also on error, with what was read until then; NULL for none.
   @param count Receives its size.
   @return SQLITE_DONE; SQLITE_NOMEM; or SQLite's code.
*/
int sr_history_rows(sqlite3_stmt* query, size_t size, SrHistoryTakeRow* take, void** rows,
                    size_t* count);

#endif // SR_STORE_HISTORY_ROWS_H
