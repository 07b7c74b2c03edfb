// SPDX-License-Identifier: GPL-3.0-or-later

// Rounds out of CSV (RFC 4180), record by record. Lines may end in LF alone, as some programs write
// them. The header tells the order of the fields, so a spreadsheet may move them.

#include "history_text.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

/// Largest record, bytes.
#define MOST_RECORD ((size_t)64 << 20)
/// More columns than this are no history.
#define MOST_COLUMNS 256

typedef struct {
  size_t start; ///< In `text`
  bool quoted;
} Cell;

struct SrCsvRoundsImpl {
  FILE* stream;
  char* text; ///< The cells of the record, each with its NUL
  size_t size;
  size_t capacity;
  Cell cells[MOST_COLUMNS];
  size_t cell_count;
  unsigned line;              ///< Where the record began
  unsigned next_line;         ///< Where the next one begins
  int field_of[MOST_COLUMNS]; ///< -1 for a column that is not ours
  size_t column_count;
};

static SrStatus
refuse(const SrCsvRounds* const rounds, const SrStatus status, const char* const message,
       SrError* const error)
{
  sr_error_set(error, status, "%s", message);
  sr_error_place(error, NULL, rounds->line, 0);
  return status;
}

/// Add a byte to the record.
static bool
add_byte(SrCsvRounds* const rounds, const char byte)
{
  if (rounds->size == rounds->capacity) {
    const size_t capacity = rounds->capacity ? 2 * rounds->capacity : 4096;
    char* const more = (char*)realloc(rounds->text, capacity);
    if (!more) {
      return false;
    }
    rounds->text = more;
    rounds->capacity = capacity;
  }
  rounds->text[rounds->size++] = byte;
  return true;
}

/// Read one cell; `end` receives what ended it: ',', '\n' or EOF.
static SrStatus
read_cell(SrCsvRounds* const rounds, int* const end, SrError* const error)
{
  if (rounds->cell_count == MOST_COLUMNS) {
    return refuse(rounds, SR_BAD_SYNTAX, "This line has too many cells.", error);
  }
  Cell* const cell = &rounds->cells[rounds->cell_count++];
  *cell = (Cell){rounds->size, false};
  bool inside = false;
  for (;;) {
    int c = getc(rounds->stream);
    rounds->next_line += c == '\n';
    if (c == '"' && !inside && rounds->size == cell->start && !cell->quoted) {
      cell->quoted = inside = true;
      continue;
    }
    if (c == '"' && inside) {
      c = getc(rounds->stream);
      if (c != '"') {
        inside = false;
        rounds->next_line += c == '\n';
      }
    }
    if (!inside && c == '\r') {
      c = getc(rounds->stream);
      rounds->next_line += c == '\n';
      if (c != '\n') {
        return refuse(rounds, SR_BAD_SYNTAX, "A line must end in CR and LF, or LF.", error);
      }
    }
    if (inside ? c == EOF : c == ',' || c == '\n' || c == EOF) {
      *end = c;
      return inside ? refuse(rounds, SR_BAD_SYNTAX, "A quoted cell does not end.", error)
             : add_byte(rounds, '\0')
                 ? SR_OK
                 : refuse(rounds, SR_NO_MEMORY, "There is not enough memory.", error);
    }
    if (c == '\0' || (cell->quoted && !inside) || (c == '"' && !cell->quoted)) {
      return refuse(rounds, SR_BAD_SYNTAX, "This is not CSV: see the quotes in this line.", error);
    }
    if (rounds->size >= MOST_RECORD) {
      return refuse(rounds, SR_TOO_LARGE, "This line is larger than 64 MiB.", error);
    }
    if (!add_byte(rounds, (char)c)) {
      return refuse(rounds, SR_NO_MEMORY, "There is not enough memory.", error);
    }
  }
}

/// Read one record. SR_NOT_FOUND at the end of the file.
static SrStatus
read_record(SrCsvRounds* const rounds, SrError* const error)
{
  rounds->size = 0;
  rounds->cell_count = 0;
  rounds->line = rounds->next_line;
  int end = 0;
  SrStatus status = SR_OK;
  do {
    status = read_cell(rounds, &end, error);
  } while (status == SR_OK && end == ',');
  if (status != SR_OK) {
    return status;
  }
  if (ferror(rounds->stream)) {
    return refuse(rounds, SR_NO_PERMISSION, strerror(errno), error);
  }
  const bool empty = rounds->cell_count == 1 && !rounds->text[0] && !rounds->cells[0].quoted;
  return end == EOF && empty ? SR_NOT_FOUND : SR_OK;
}

/// Index of a field by its name; -1 if there is none.
static int
find_field(const char* const name)
{
  for (size_t i = 0; i < sr_field_count; ++i) {
    if (!strcmp(sr_fields[i].name, name)) {
      return (int)i;
    }
  }
  return -1;
}

/// Read the header line.
static SrStatus
read_header(SrCsvRounds* const rounds, SrError* const error)
{
  SrStatus status = read_record(rounds, error);
  if (status != SR_OK && status != SR_NOT_FOUND) {
    return status;
  }
  size_t found = 0;
  rounds->column_count = rounds->cell_count;
  for (size_t i = 0; i < rounds->cell_count; ++i) {
    const char* name = rounds->text + rounds->cells[i].start;
    // Some programs put a byte order mark first
    name += i == 0 && !strncmp(name, "\xEF\xBB\xBF", 3) ? 3 : 0;
    rounds->field_of[i] = find_field(name);
    for (size_t before = 0; before < i; ++before) {
      if (rounds->field_of[i] >= 0 && rounds->field_of[before] == rounds->field_of[i]) {
        return refuse(rounds, SR_BAD_SYNTAX, "Two columns have the same name.", error);
      }
    }
    found += rounds->field_of[i] >= 0;
  }
  return found == sr_field_count
             ? SR_OK
             : refuse(rounds, SR_BAD_SYNTAX,
                      "This is no history: its first line does not name all columns that "
                      "`steadyreed progress --export` writes.",
                      error);
}

SrCsvRounds*
sr_csv_rounds_new(FILE* const stream, SrError* const error)
{
  SrCsvRounds* const rounds = (SrCsvRounds*)calloc(1, sizeof(SrCsvRounds));
  if (!rounds) {
    sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
    return NULL;
  }
  rounds->stream = stream;
  rounds->next_line = 1;
  if (read_header(rounds, error) != SR_OK) {
    sr_csv_rounds_del(rounds);
    return NULL;
  }
  return rounds;
}

void
sr_csv_rounds_del(SrCsvRounds* const rounds)
{
  if (rounds) {
    free(rounds->text);
    free(rounds);
  }
}

/// The value of a cell as JSON: a new reference. NULL without memory, or if it is none.
static json_t*
value_of(const SrField* const field, const char* const text, const bool quoted)
{
  // An empty cell is an empty text where there must be one, or where it is quoted
  if (!text[0] && !(field->kind == SR_FIELD_TEXT && (quoted || field->required))) {
    return json_null();
  }
  if (field->kind == SR_FIELD_TEXT) {
    return json_string(text[0] == '\'' && text[1] && strchr(SR_CELL_PREFIXED, text[1]) ? text + 1
                                                                                       : text);
  }
  return json_loads(text, JSON_DECODE_ANY | JSON_REJECT_DUPLICATES, NULL);
}

SrStatus
sr_csv_rounds_next(void* const source, SrHistoryRecord* const record, SrError* const error)
{
  SrCsvRounds* const rounds = (SrCsvRounds*)source;
  SrStatus status = read_record(rounds, error);
  if (status != SR_OK) {
    return status;
  }
  if (rounds->cell_count != rounds->column_count) {
    return refuse(rounds, SR_BAD_SYNTAX, "This line has not as many cells as the first one.",
                  error);
  }
  for (size_t i = 0; status == SR_OK && i < rounds->cell_count; ++i) {
    if (rounds->field_of[i] < 0) {
      continue;
    }
    const SrField* const field = &sr_fields[rounds->field_of[i]];
    json_t* const value =
        value_of(field, rounds->text + rounds->cells[i].start, rounds->cells[i].quoted);
    status =
        value ? sr_field_set(field, value, record, error)
              : sr_error_set(error, SR_BAD_SYNTAX, "The cell \"%s\" cannot be read.", field->name);
    json_decref(value);
  }
  status = status == SR_OK ? sr_record_check(record, error) : status;
  if (status != SR_OK) {
    sr_error_place(error, NULL, rounds->line, 0);
  }
  return status;
}
