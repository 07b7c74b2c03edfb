// SPDX-License-Identifier: GPL-3.0-or-later

// What writing and reading of history files share.

#ifndef SR_STORE_HISTORY_TEXT_H
#define SR_STORE_HISTORY_TEXT_H

#include "history_record.h"

#include <steadyreed/history_file.h>

#include <jansson.h>

#include <stdbool.h>

/// How JSON is written here: on one line, with as many digits as survive in a double.
#define SR_HISTORY_JSON (JSON_COMPACT | JSON_REAL_PRECISION(15))
/// What stands before the rounds.
#define SR_HISTORY_JSON_HEAD "{\"format\":\"steadyreed-history\",\"version\":1,\"rounds\":["
/// Text cells that begin with one of these get an apostrophe in front.
#define SR_CELL_PREFIXED "=+-@\t\r'"

/// Whether a path ends in .csv or .json; SR_OK or SR_BAD_ARGUMENT.
SrStatus sr_history_file_kind(const char* path, bool* csv, SrError* error);

/// The next round of a file: SR_OK with the record filled; SR_NOT_FOUND at the end; SR_BAD_SYNTAX,
/// SR_TOO_LARGE or SR_NO_MEMORY with the line.
typedef SrStatus SrRoundSource(void* source, SrHistoryRecord* record, SrError* error);

/// A JSON file being read.
typedef struct SrJsonRoundsImpl SrJsonRounds;
/// Read its head. NULL on error, which is filled.
SrJsonRounds* sr_json_rounds_new(FILE* stream, SrError* error);
SrRoundSource sr_json_rounds_next;
void sr_json_rounds_del(SrJsonRounds* rounds);

/// A CSV file being read.
typedef struct SrCsvRoundsImpl SrCsvRounds;
/// Read its header line. NULL on error, which is filled.
SrCsvRounds* sr_csv_rounds_new(FILE* stream, SrError* error);
SrRoundSource sr_csv_rounds_next;
void sr_csv_rounds_del(SrCsvRounds* rounds);

/**
   Give a field the value that a file has for it, if it is in its range.

   @param value JSON; numbers for numbers, null for absent.
   @return SR_OK, SR_BAD_SYNTAX or SR_NO_MEMORY.
*/
SrStatus sr_field_set(const SrField* field, const json_t* value, SrHistoryRecord* record,
                      SrError* error);
/// Check what fields must have in common once all are set. SR_OK or SR_BAD_SYNTAX.
SrStatus sr_record_check(const SrHistoryRecord* record, SrError* error);

#endif // SR_STORE_HISTORY_TEXT_H
