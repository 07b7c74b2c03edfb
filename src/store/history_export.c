// SPDX-License-Identifier: GPL-3.0-or-later

// The history into a file, round by round.

#include "history_text.h"

#include <steadyreed/output.h>

#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

SrStatus
sr_history_file_kind(const char* const path, bool* const csv, SrError* const error)
{
  const char* const dot = strrchr(path, '.');
  *csv = dot && !strcasecmp(dot, ".csv");
  return *csv || (dot && !strcasecmp(dot, ".json"))
             ? SR_OK
             : sr_error_set(error, SR_BAD_ARGUMENT,
                            "The name of a history file ends in .csv or .json, not as in "
                            "\"%.200s\".",
                            path);
}

/// Write a text as a cell: quoted where RFC 4180 asks for it.
static void
write_cell(FILE* const stream, const char* const text, const SrField* const field)
{
  // Spreadsheets run such a cell as a formula; reading takes the apostrophe off again. JSON begins
  // with a bracket.
  const bool formula = field->kind == SR_FIELD_TEXT && text[0] && strchr(SR_CELL_PREFIXED, text[0]);
  // An empty text is not an absent one, where it may be absent
  const bool quoted = formula || (!text[0] && !field->required) || strpbrk(text, ",\"\r\n");
  fputs(quoted ? formula ? "\"'" : "\"" : "", stream);
  for (const char* c = text; *c; ++c) {
    if (*c == '"') {
      fputc('"', stream);
    }
    fputc(*c, stream);
  }
  fputs(quoted ? "\"" : "", stream);
}

static void
write_csv(FILE* const stream, SrHistoryRecord* const record)
{
  for (size_t i = 0; i < sr_field_count; ++i) {
    const SrField* const field = &sr_fields[i];
    fputs(i ? "," : "", stream);
    switch (field->kind) {
    case SR_FIELD_COUNT:
      fprintf(stream, "%" PRId64, *sr_field_integer(field, record));
      break;
    case SR_FIELD_REAL:
    case SR_FIELD_WHOLE: {
      const double value = *sr_field_real(field, record);
      if (isfinite(value)) {
        // As many digits as survive in a double; what is kept is rounded to fewer
        fprintf(stream, field->kind == SR_FIELD_WHOLE ? "%.0f" : "%.15g", value);
      }
      break;
    }
    case SR_FIELD_TEXT:
    case SR_FIELD_JSON: {
      const char* const text = *sr_field_text(field, record);
      if (text) {
        write_cell(stream, text, field);
      }
      break;
    }
    }
  }
  fputs("\r\n", stream);
}

static json_t*
json_of(const SrField* const field, SrHistoryRecord* const record)
{
  switch (field->kind) {
  case SR_FIELD_COUNT:
    return json_integer(*sr_field_integer(field, record));
  case SR_FIELD_REAL:
  case SR_FIELD_WHOLE: {
    const double value = *sr_field_real(field, record);
    return !isfinite(value)                ? json_null()
           : field->kind == SR_FIELD_WHOLE ? json_integer((json_int_t)value)
                                           : json_real(value);
  }
  case SR_FIELD_TEXT: {
    const char* const text = *sr_field_text(field, record);
    return text ? json_string(text) : json_null();
  }
  case SR_FIELD_JSON: {
    const char* const text = *sr_field_text(field, record);
    return text ? json_loads(text, 0, NULL) : json_null();
  }
  }
  return NULL;
}

/// False if it could not be made into JSON.
static bool
write_json(FILE* const stream, SrHistoryRecord* const record, const bool first)
{
  json_t* const object = json_object();
  bool good = object != NULL;
  for (size_t i = 0; good && i < sr_field_count; ++i) {
    good = !json_object_set_new(object, sr_fields[i].name, json_of(&sr_fields[i], record));
  }
  char* const line = good ? json_dumps(object, SR_HISTORY_JSON) : NULL;
  json_decref(object);
  if (line) {
    fprintf(stream, "%s\n%s", first ? "" : ",", line);
  }
  free(line);
  return line != NULL;
}

/// Write all rounds to a stream, in a transaction that is open.
static SrStatus
write_rounds(SrHistory* const history, FILE* const stream, const bool csv, size_t* const count,
             SrError* const error)
{
  sqlite3_stmt* const order =
      sr_history_query(history, "SELECT id FROM round ORDER BY utc_ms, uid", error);
  sqlite3_stmt* const reader = order ? sr_record_reader(history, error) : NULL;
  if (!reader) {
    sqlite3_finalize(order);
    return error->status;
  }
  int code;
  bool good = true;
  while ((code = sqlite3_step(order)) == SQLITE_ROW && !ferror(stream)) {
    SrHistoryRecord record;
    const int read = sr_record_read(reader, sqlite3_column_int64(order, 0), &record);
    if (read != SQLITE_ROW) {
      code = read;
      break;
    }
    if (csv) {
      write_csv(stream, &record);
    } else {
      good = write_json(stream, &record, *count == 0);
    }
    sr_record_clear(&record);
    if (!good) {
      break;
    }
    ++*count;
  }
  sqlite3_finalize(reader);
  // A stream that failed tells so when it is finished
  const bool all = good && (code == SQLITE_DONE || !ferror(stream));
  const SrStatus status = sr_history_query_end(history, order, all ? code : SQLITE_DONE, error);
  return good ? status
              : sr_error_set(error, SR_BAD_SYNTAX,
                             "A round of the history is damaged, so nothing was written.");
}

SrStatus
sr_history_export(SrHistory* const history, const char* const path, size_t* const count,
                  SrError* const error)
{
  SrError why = {0};
  size_t number = 0;
  bool csv = false;
  SrOutput* output = NULL;
  FILE* stream = NULL;
  SrStatus status = sr_history_file_kind(path, &csv, &why);
  status = status == SR_OK ? sr_output_new(path, &output, &why) : status;
  if (status == SR_OK) {
    (void)!fchmod(sr_output_descriptor(output), 0600);
    stream = sr_output_stream(output);
    status = stream ? SR_OK : sr_error_set(&why, SR_NO_MEMORY, "There is not enough memory.");
  }
  // One moment of the history, whatever is added meanwhile
  int begun = SQLITE_OK;
  if (status == SR_OK) {
    begun = history->database ? sr_history_run(history->database, "BEGIN") : SQLITE_CANTOPEN;
  }
  status = begun == SQLITE_OK ? status : sr_history_refuse(history, begun, &why);
  if (status == SR_OK) {
    if (csv) {
      for (size_t i = 0; i < sr_field_count; ++i) {
        fprintf(stream, "%s%s", i ? "," : "", sr_fields[i].name);
      }
      fputs("\r\n", stream);
    } else {
      fputs(SR_HISTORY_JSON_HEAD, stream);
    }
    status = write_rounds(history, stream, csv, &number, &why);
    fputs(csv ? "" : "\n]}\n", stream);
    (void)sr_history_end(history->database, SQLITE_OK);
  }
  status = status == SR_OK ? sr_output_finish(output, &why) : status;
  sr_output_del(output);
  if (count) {
    *count = number;
  }
  if (status != SR_OK && error) {
    *error = why;
  }
  return status;
}
