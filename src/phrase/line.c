// SPDX-License-Identifier: GPL-3.0-or-later

#include "tune.h"

#include "../utf8.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

/// Most bytes of text quoted in an error.
#define QUOTE_SIZE 24u

bool
sr_line_next(const char* const text, const size_t size, size_t* const at, unsigned* const number,
             SrLine* const line)
{
  if (*at == 0 && *number == 0 && size >= 3 && !memcmp(text, "\xEF\xBB\xBF", 3)) {
    *at = 3;
  }
  if (*at >= size) {
    return false;
  }
  size_t end = *at;
  while (end < size && text[end] != '\n' && text[end] != '\r') {
    ++end;
  }
  line->text = text + *at;
  line->size = end - *at;
  line->number = ++*number;
  line->comment = NULL;
  line->comment_size = 0;
  // A comment extends to the end of the line, unless the % is escaped as \%
  for (size_t i = 0; i < line->size; ++i) {
    if (line->text[i] == '%' && (i == 0 || line->text[i - 1] != '\\')) {
      line->comment = line->text + i;
      line->comment_size = line->size - i;
      line->size = i;
    }
  }
  if (end < size) {
    end += text[end] == '\r' && end + 1 < size && text[end + 1] == '\n' ? 2 : 1;
  }
  *at = end;
  return true;
}

bool
sr_line_is_field(const SrLine* const line, const bool in_body)
{
  const unsigned char first = line->size >= 2 ? (unsigned char)line->text[0] : 0;
  if (!(isalpha(first) || first == '+') || line->text[1] != ':') {
    return false;
  }
  // A line of music may start with a note or rest before a repeat sign (ABC 2.1, section 3)
  const bool may_be_note = in_body && strchr("ABCDEFGXYZabcdefgxyz", first) != NULL;
  return !may_be_note || line->size < 3 || (line->text[2] != '|' && line->text[2] != ':');
}

static bool
is_blank(const SrLine* const line)
{
  for (size_t i = 0; i < line->size; ++i) {
    if (!isspace((unsigned char)line->text[i])) {
      return false;
    }
  }
  return true;
}

bool
sr_line_is_empty(const SrLine* const line)
{
  return !line->comment && is_blank(line);
}

bool
sr_line_is_comment(const SrLine* const line)
{
  return line->comment && is_blank(line);
}

unsigned
sr_line_characters(const SrLine* const line, const size_t from, const size_t to)
{
  unsigned count = 0;
  for (size_t i = from; i < to && i < line->size; ++count) {
    const size_t step = sr_utf8_character(line->text + i, line->size - i, NULL);
    i += step ? step : 1;
  }
  return count;
}

void
sr_line_copy(const char* text, size_t size, char* const copy, const size_t copy_size)
{
  while (size && isspace((unsigned char)text[0])) {
    ++text;
    --size;
  }
  while (size && isspace((unsigned char)text[size - 1])) {
    --size;
  }
  size_t length = 0;
  for (size_t i = 0; i < size;) {
    const size_t step = sr_utf8_character(text + i, size - i, NULL);
    const unsigned char byte = (unsigned char)text[i];
    const size_t needed = step ? step : 2;
    if (length + needed >= copy_size) {
      break;
    }
    if (step == 1 && (byte < 0x20u || byte == 0x7Fu)) {
      copy[length++] = ' ';
    } else if (step) {
      memcpy(copy + length, text + i, step);
      length += step;
    } else {
      copy[length++] = (char)(0xC0u | (byte >> 6u));
      copy[length++] = (char)(0x80u | (byte & 0x3Fu));
    }
    i += step ? step : 1;
  }
  copy[length] = '\0';
}

SrStatus
sr_tune_fail(const SrTuneReader* const reader, const SrStatus status, const SrLine* const line,
             const size_t at, const char* const what)
{
  const unsigned column = 1 + sr_line_characters(line, 0, at);
  char quote[QUOTE_SIZE + 1] = "";
  if (at < line->size) {
    sr_line_copy(line->text + at, line->size - at, quote, sizeof(quote));
  }
  if (quote[0]) {
    sr_error_set(reader->error, status, "%s: \"%s\"", what, quote);
  } else {
    sr_error_set(reader->error, status, "%s, at the end of the line.", what);
  }
  sr_error_place(reader->error, reader->name, line->number, column);
  return status;
}
