// SPDX-License-Identifier: GPL-3.0-or-later

#include "help_line.h"
#include "say.h"

#include <stdlib.h>
#include <string.h>

/// A meaning with fewer columns than this goes below its term, indented by this.
#define LEAST_BESIDE 30
#define BELOW_INDENT 6

/// Write a term with its meaning beside it or, if there is little room, below.
static void
write_term(FILE* const stream, const SrHelpLine* const line, const char* const meaning,
           const size_t columns)
{
  if (columns && columns < line->size + LEAST_BESIDE) {
    sr_say_indented(stream, 4, "%.*s", (int)line->size, line->text);
    sr_say_indented(stream, BELOW_INDENT, "%*s%s", BELOW_INDENT, "", meaning);
    return;
  }
  fwrite(line->text, 1, line->size, stream);
  sr_show_words(stream, meaning, &(SrShowLine){line->size, line->size, columns, NULL});
  fputc('\n', stream);
}

static void
write_line(FILE* const stream, const SrHelpLine* const line, const size_t columns)
{
  const bool term = line->kind == SR_HELP_TERM;
  char* const text =
      term ? strndup(line->meaning, line->meaning_size) : strndup(line->text, line->size);
  if (!text) {
    return;
  }
  if (term) {
    write_term(stream, line, text, columns);
  } else if (line->kind == SR_HELP_COMMAND) {
    sr_say_command(stream, "%s", text);
  } else {
    sr_show_words(stream, text, &(SrShowLine){0, strspn(text, " "), columns, NULL});
    fputc('\n', stream);
  }
  free(text);
}

void
sr_say_help(FILE* const stream, const char* const text)
{
  const size_t columns = sr_say_columns(stream);
  const char* rest = text;
  for (SrHelpLine line; sr_help_line(&rest, &line);) {
    write_line(stream, &line, columns);
  }
}
