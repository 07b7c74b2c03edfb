// SPDX-License-Identifier: GPL-3.0-or-later

#include "say.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

typedef enum { MUSIC, FIELD, COMMENT } Kind;

/// Ends of continued lines and starts of the next (ABC 2.1, sections 3.3 and 6.1.1).
static const char* const ends[] = {[MUSIC] = "\\", [FIELD] = "", [COMMENT] = ""};
static const char* const begins[] = {[MUSIC] = "", [FIELD] = "+: ", [COMMENT] = "% "};

static Kind
kind_of(const char* const line)
{
  if (line[0] == '%') {
    return COMMENT;
  }
  const bool field = (isalpha((unsigned char)line[0]) || line[0] == '+') && line[1] == ':' &&
                     line[2] != '|' && line[2] != ':';
  return field ? FIELD : MUSIC;
}

static size_t
columns_of(const char* const text, const size_t size)
{
  char* const copy = strndup(text, size);
  const size_t columns = copy ? sr_show_columns(copy) : 0;
  free(copy);
  return columns;
}

/// Whether music may be broken before `at`: not in quotes, braces or brackets. `good` is set after
/// a bar line or a space.
static bool
may_break(const char* const line, const size_t at, bool* const good)
{
  bool quoted = false;
  int depth = 0;
  for (size_t i = 0; i < at; ++i) {
    quoted = line[i] == '"' ? !quoted : quoted;
    if (!quoted) {
      // "[1" and "[|" open nothing
      depth += line[i] == '{' || (line[i] == '[' && !strchr("|123456789", line[i + 1]));
      depth -= line[i] == '}' || line[i] == ']';
    }
  }
  const bool behind = strchr(" |", line[at - 1]) && !strchr(" |]:[", line[at]);
  *good = !quoted && depth <= 0 && behind;
  return *good || (!quoted && depth <= 0 && strchr("\"{", line[at]) && line[at - 1] != '"');
}

/// Bytes of a line to write on a line of `room` columns; all if it cannot be broken.
static size_t
piece_of(const char* const line, const Kind kind, const size_t room)
{
  const size_t size = strlen(line);
  size_t best = 0;
  size_t fair = 0;
  for (size_t at = 1; at < size; ++at) {
    const bool fits = columns_of(line, at) <= room;
    bool good = kind != MUSIC && line[at - 1] == ' ' && line[at] != ' ' && at > 3;
    const bool may = kind == MUSIC ? may_break(line, at, &good) : good;
    if (!fits && (best || fair)) {
      break;
    }
    best = good ? at : best;
    fair = may ? at : fair;
    if (!fits && may) {
      break;
    }
  }
  return best ? best : fair ? fair : size;
}

static void
write_line(FILE* const stream, const char* line, const size_t indent, const size_t columns)
{
  const Kind kind = kind_of(line);
  size_t taken = indent;
  fprintf(stream, "%*s", (int)indent, "");
  while (taken + sr_show_columns(line) > columns) {
    const size_t size = piece_of(line, kind, columns - taken - strlen(ends[kind]));
    if (size == strlen(line)) {
      break;
    }
    fwrite(line, 1, size, stream);
    fprintf(stream, "%s\n%*s%s", ends[kind], (int)indent, "", begins[kind]);
    line += size;
    taken = indent + strlen(begins[kind]);
  }
  fputs(line, stream);
}

void
sr_say_abc(FILE* const stream, const char* const text, const size_t indent)
{
  const size_t columns = sr_say_columns(stream);
  const bool unicode = sr_say_style(stream).unicode;
  char* const copy = strdup(text);
  char* rest = copy;
  for (char* line; (line = strsep(&rest, "\n")) && (rest || *line);) {
    if (columns) {
      for (char* blank; (blank = strpbrk(line, "\t\r"));) {
        *blank = ' ';
      }
      char* const safe = sr_show_safe(line, unicode);
      write_line(stream, safe ? safe : "", *line ? indent : 0, columns);
      free(safe);
    } else {
      fprintf(stream, "%*s%s", (int)indent, "", line);
    }
    if (rest) {
      fputc('\n', stream);
    }
  }
  free(copy);
}
