// SPDX-License-Identifier: GPL-3.0-or-later

#include "screen.h"

#include "text.h"

#include <stdarg.h>
#include <stdlib.h>

/// Column where the words about a note begin.
#define WORDS_COLUMN 18u

const char*
sr_screen_colour(const SrScreen* const screen, const char* const sequence)
{
  return screen->style->colour ? sequence : "";
}

void
sr_screen_line(const SrScreen* const screen, const size_t column, const size_t indent,
               const char* const format, ...)
{
  char line[SR_WORDS_SIZE];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line, sizeof(line), format, arguments);
  va_end(arguments);
  char* const clean = sr_text_terminal(line, screen->style->unicode);
  sr_show_words(screen->stream, clean ? clean : "",
                &(SrShowLine){column, indent, screen->style->columns, NULL});
  fputc('\n', screen->stream);
  free(clean);
}

void
sr_screen_about(const SrScreen* const screen, const int bar, const char* const name,
                const char* const words)
{
  char* const clean = sr_text_terminal(name, screen->style->unicode);
  char place[32];
  if (bar > 0) {
    snprintf(place, sizeof(place), "bar %d", bar);
  } else {
    snprintf(place, sizeof(place), "pickup");
  }
  fprintf(screen->stream, "  %-8s%s", place, clean ? clean : "");
  for (size_t at = 10 + (clean ? sr_show_columns(clean) : 0); at < WORDS_COLUMN; ++at) {
    fputc(' ', screen->stream);
  }
  free(clean);
  fputs(sr_screen_colour(screen, SR_YELLOW), screen->stream);
  char* const said = sr_text_terminal(words, screen->style->unicode);
  sr_show_words(screen->stream, said ? said : "",
                &(SrShowLine){WORDS_COLUMN, WORDS_COLUMN, screen->style->columns, NULL});
  free(said);
  fputs(sr_screen_colour(screen, SR_PLAIN), screen->stream);
  fputc('\n', screen->stream);
}
