// SPDX-License-Identifier: GPL-3.0-or-later

// Two takes side by side on a terminal.

#include <steadyreed/show_two_takes.h>

#include "screen.h"
#include "text.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/// Narrowest terminal with two columns of words.
#define LEAST_WIDE 64u
/// Width of the bars' numbers, and between two columns.
#define PLACE 8u
#define GAP 2u
/// Indent of what stands under a bar on a narrow terminal.
#define UNDER 10u

typedef struct {
  FILE* stream;
  const SrShownTwo* shown;
  const SrShowStyle* style;
  size_t columns;
} Screen;

/// Write a line, broken if needed.
static void say(const Screen* screen, size_t indent, const char* format, ...) SR_PRINTF(3, 4);

static void
say(const Screen* const screen, const size_t indent, const char* const format, ...)
{
  char line[SR_WORDS_SIZE];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line, sizeof(line), format, arguments);
  va_end(arguments);
  char* const clean = sr_text_terminal(line, screen->style->unicode);
  sr_show_words(screen->stream, clean ? clean : "",
                &(SrShowLine){0, indent, screen->style->columns, NULL});
  fputc('\n', screen->stream);
  free(clean);
}

static void
say_head(const Screen* const screen)
{
  const SrShownTwo* const shown = screen->shown;
  const char* const title = sr_phrase_title(shown->phrases[0]);
  char words[SR_TWO_SENTENCE_SIZE];
  say(screen, 2, "%.200s: two takes side by side", *title ? title : "Untitled phrase");
  say(screen, 10, "  first   %s", sr_two_name_line(shown, 0, words));
  say(screen, 10, "  second  %s", sr_two_name_line(shown, 1, words));
  fputc('\n', screen->stream);
  say(screen, 0, "%s", sr_two_sentence(shown->two, words));
}

static void
say_table(const Screen* const screen)
{
  SrTwoRow rows[SR_TWO_FIGURES];
  const size_t count = sr_two_rows(screen->shown->two, rows);
  bool told = false;
  fprintf(screen->stream, "\n%-17s%6s%7s%8s\n", "", "first", "second", "differs");
  for (size_t i = 0; i < count; ++i) {
    fprintf(screen->stream, "%-17s%6s%7s", rows[i].name, rows[i].value[0], rows[i].value[1]);
    fprintf(screen->stream, *rows[i].difference ? "%8s%s\n" : "%s\n", rows[i].difference,
            rows[i].told ? " *" : "");
    told = told || rows[i].told;
  }
  if (told) {
    say(screen, 2, "* %s", SR_TWO_TEST_WORDS);
  }
}

/// Words broken to a width, as lines; free() it. NULL without memory.
static char*
broken(const Screen* const screen, const char* const words, const size_t columns)
{
  char* text = NULL;
  size_t size = 0;
  FILE* const memory = open_memstream(&text, &size);
  char* const clean = sr_text_terminal(*words ? words : "-", screen->style->unicode);
  if (memory) {
    sr_show_words(memory, clean ? clean : "", &(SrShowLine){0, 0, columns, NULL});
    fclose(memory);
  }
  free(clean);
  return text;
}

/// Write the next line of a text, filled up to a width unless that is 0.
static void
put_line(FILE* const stream, char** const rest, const size_t width)
{
  char* const line = strsep(rest, "\n");
  fputs(line ? line : "", stream);
  for (size_t at = line ? sr_show_columns(line) : 0; at < width; ++at) {
    fputc(' ', stream);
  }
}

static void
name_bar(const int bar, char name[24])
{
  if (bar > 0) {
    snprintf(name, 24, "bar %d", bar);
  } else {
    snprintf(name, 24, "%s", bar == 0 ? "pickup" : "all");
  }
}

/// Write both takes' words of a bar as two columns.
static void
say_wide(const Screen* const screen, const char* const place, const char* const words[2])
{
  const size_t width = (screen->columns - PLACE - GAP) / 2;
  char* const texts[] = {broken(screen, words[0], width), broken(screen, words[1], width)};
  char* rest[] = {texts[0], texts[1]};
  for (bool first = true; rest[0] || rest[1]; first = false) {
    fprintf(screen->stream, "%-*s", (int)PLACE, first ? place : "");
    put_line(screen->stream, &rest[0], rest[1] ? width + GAP : 0);
    put_line(screen->stream, &rest[1], 0);
    fputc('\n', screen->stream);
  }
  free(texts[0]);
  free(texts[1]);
}

static void
say_bars(const Screen* const screen, const SrTwoBar* const bars, const size_t count)
{
  const bool wide = screen->columns >= LEAST_WIDE;
  const char* const heads[] = {"first", "second"};
  fputc('\n', screen->stream);
  say(screen, 2, "%s",
      count ? "What went wrong, in the best round of each:"
            : "Nothing went wrong in the best round of either.");
  if (wide && count) {
    say_wide(screen, "", heads);
  }
  for (size_t i = 0; i < count; ++i) {
    const char* const words[] = {bars[i].words[0], bars[i].words[1]};
    char place[24];
    name_bar(bars[i].bar, place);
    if (wide) {
      say_wide(screen, place, words);
    } else {
      say(screen, 0, "%s", place);
      say(screen, UNDER, "  first   %s", *words[0] ? words[0] : "-");
      say(screen, UNDER, "  second  %s", *words[1] ? words[1] : "-");
    }
  }
}

SrStatus
sr_show_two_takes(FILE* const stream, const SrShownTwo* const shown, const SrShowStyle* const style,
                  SrError* const error)
{
  const size_t most = SR_SHOW_COLUMNS;
  const Screen screen = {stream, shown, style,
                         style->columns && style->columns < most ? style->columns : most};
  SrTwoBar* bars = NULL;
  size_t count = 0;
  const SrStatus status = sr_two_bars(shown, &bars, &count, error);
  if (status == SR_OK) {
    say_head(&screen);
    say_table(&screen);
    say_bars(&screen, bars, count);
  }
  sr_two_bars_del(bars, count);
  return status;
}
