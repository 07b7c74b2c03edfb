// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file fuzz_history.c
   Entry for a coverage-guided fuzzer (libFuzzer) into the readers of history files. Built with
   STANDALONE it runs over the files it is given, whole, cut off, and with each byte changed.

   What is read must be accepted by the database with all its constraints; what is refused must say
   why and where. A file that begins with '{' is JSON, any other CSV.
*/

#include "kept_files.h"

#include "../support/clean_text.h"

#include "store/history_text.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void
demand(const bool holds, const char* const what)
{
  if (!holds) {
    fprintf(stderr, "%s\n", what);
    abort();
  }
}

/// A history in memory, made once.
static SrHistory*
memory_history(void)
{
  static SrHistory history;
  if (!history.database) {
    demand(sqlite3_open(":memory:", &history.database) == SQLITE_OK, "no database in memory");
    demand(sr_history_run(history.database, "PRAGMA foreign_keys = ON") == SQLITE_OK, "no keys");
    demand(sr_history_schema_update(history.database) == SQLITE_OK, "no tables");
  }
  return &history;
}

/// Whether all numbers of a record lie in their ranges, and what must be there is.
static bool
is_in_range(SrHistoryRecord* const record)
{
  for (size_t i = 0; i < sr_field_count; ++i) {
    const SrField* const field = &sr_fields[i];
    bool good = true;
    switch (field->kind) {
    case SR_FIELD_COUNT: {
      const double value = (double)*sr_field_integer(field, record);
      good = value >= field->least && value <= field->most;
      break;
    }
    case SR_FIELD_REAL:
    case SR_FIELD_WHOLE: {
      const double value = *sr_field_real(field, record);
      good = isnan(value) ? !field->required : value >= field->least && value <= field->most;
      break;
    }
    case SR_FIELD_TEXT:
    case SR_FIELD_JSON: {
      const char* const text = *sr_field_text(field, record);
      good = text ? (double)strlen(text) <= field->most : !field->required;
      break;
    }
    }
    if (!good) {
      return false;
    }
  }
  return true;
}

static void
read_rounds(SrRoundSource* const next, void* const source)
{
  SrHistory* const history = memory_history();
  demand(sr_history_run(history->database, "BEGIN") == SQLITE_OK, "no transaction");
  SrStatus status = SR_OK;
  while (status == SR_OK) {
    SrHistoryRecord record = sr_record_none();
    SrError error = {0};
    status = next(source, &record, &error);
    if (status == SR_OK) {
      bool added = false;
      demand(is_in_range(&record), "a value out of its range");
      demand(sr_history_insert(history, &record, &added) == SQLITE_OK, "refused by the database");
    } else if (status != SR_NOT_FOUND) {
      demand(status == error.status && error.message[0], "refused without a word");
      demand(error.line > 0, "refused without a place");
      demand(sr_test_is_clean_text(error.message), "an error that is not clean UTF-8");
    }
    sr_record_clear(&record);
  }
  demand(sr_history_run(history->database, "ROLLBACK") == SQLITE_OK, "no way back");
}

int
LLVMFuzzerTestOneInput(const uint8_t* const data, const size_t size)
{
  if (size == 0) {
    return 0;
  }
  uint8_t* const copy = (uint8_t*)malloc(size);
  demand(copy != NULL, "no memory");
  memcpy(copy, data, size);
  FILE* const stream = fmemopen(copy, size, "r");
  demand(stream != NULL, "no stream");
  SrError error = {0};
  if (data[0] == '{') {
    SrJsonRounds* const rounds = sr_json_rounds_new(stream, &error);
    demand(rounds || error.message[0], "refused without a word");
    if (rounds) {
      read_rounds(sr_json_rounds_next, rounds);
    }
    sr_json_rounds_del(rounds);
  } else {
    SrCsvRounds* const rounds = sr_csv_rounds_new(stream, &error);
    demand(rounds || error.message[0], "refused without a word");
    if (rounds) {
      read_rounds(sr_csv_rounds_next, rounds);
    }
    sr_csv_rounds_del(rounds);
  }
  fclose(stream);
  free(copy);
  return 0;
}

#ifdef STANDALONE
static void
break_and_change(uint8_t* const data, const size_t size)
{
  sr_test_break_and_change(data, size, 1);
}

int
main(const int argc, char** const argv)
{
  return sr_test_kept_files(argc, argv, break_and_change);
}
#endif
