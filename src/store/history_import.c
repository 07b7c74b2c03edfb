// SPDX-License-Identifier: GPL-3.0-or-later

// Rounds from a file into the history: all or none.

#include "history_text.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

/// Add rounds until the file ends, in a transaction that is open.
static SrStatus
add_rounds(SrHistory* const history, SrRoundSource* const next, void* const source,
           SrImported* const imported, SrError* const error)
{
  for (;;) {
    SrHistoryRecord record = sr_record_none();
    SrStatus status = next(source, &record, error);
    if (status == SR_OK) {
      bool added = false;
      const int code = sr_history_insert(history, &record, &added);
      imported->added += added;
      imported->known += !added;
      status = code == SQLITE_OK ? SR_OK : sr_history_refuse(history, code, error);
    }
    sr_record_clear(&record);
    if (status != SR_OK) {
      return status == SR_NOT_FOUND ? SR_OK : status;
    }
  }
}

/// Add the rounds of an open file.
static SrStatus
read_stream(SrHistory* const history, FILE* const stream, const bool csv,
            SrImported* const imported, SrError* const error)
{
  SrCsvRounds* const cells = csv ? sr_csv_rounds_new(stream, error) : NULL;
  SrJsonRounds* const objects = csv ? NULL : sr_json_rounds_new(stream, error);
  SrStatus status = cells || objects ? SR_OK : error->status;
  if (status == SR_OK) {
    const int code =
        history->database ? sr_history_run(history->database, "BEGIN IMMEDIATE") : SQLITE_CANTOPEN;
    status = code == SQLITE_OK ? SR_OK : sr_history_refuse(history, code, error);
  }
  if (status == SR_OK) {
    status = csv ? add_rounds(history, sr_csv_rounds_next, cells, imported, error)
                 : add_rounds(history, sr_json_rounds_next, objects, imported, error);
    const int code = sr_history_end(history->database, status == SR_OK ? SQLITE_OK : SQLITE_ABORT);
    if (status == SR_OK && code != SQLITE_OK) {
      status = sr_history_refuse(history, code, error);
    }
  }
  sr_csv_rounds_del(cells);
  sr_json_rounds_del(objects);
  return status;
}

SrStatus
sr_history_import(SrHistory* const history, const char* const path, SrImported* const imported,
                  SrError* const error)
{
  *imported = (SrImported){0, 0};
  SrError why = {0};
  bool csv = false;
  SrStatus status = sr_history_file_kind(path, &csv, &why);
  FILE* const stream = status == SR_OK ? fopen(path, "rbe") : NULL;
  if (status == SR_OK && !stream) {
    status = sr_error_set(&why, errno == ENOENT ? SR_NOT_FOUND : SR_NO_PERMISSION,
                          "It cannot be read: %s.", strerror(errno));
  } else if (status == SR_OK) {
    status = read_stream(history, stream, csv, imported, &why);
  }
  if (stream) {
    fclose(stream);
  }
  if (status != SR_OK) {
    *imported = (SrImported){0, 0};
    if (!why.file[0]) {
      sr_error_place(&why, path, why.line, 0);
    }
    if (error) {
      *error = why;
    }
  }
  return status;
}
