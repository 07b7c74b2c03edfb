// SPDX-License-Identifier: GPL-3.0-or-later

// A phrase with its last days, as a table or, on a narrow terminal, in sentences.

#include <steadyreed/show_progress.h>

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/// From this width on there is a table.
#define TABLE_COLUMNS 72

#define CELL_SIZE 24

typedef enum {
  COLUMN_DAY,
  COLUMN_ROUNDS,
  COLUMN_MINUTES,
  COLUMN_CLEAN,
  COLUMN_CUTS,
  COLUMN_SPREAD,
  COLUMN_CLICK,
  COLUMN_ALONE,
  COLUMN_AIR,
  COLUMN_COUNT
} Column;

static const char* const headings[COLUMN_COUNT] = {"day",    "rounds", "min",   "clean at", "cuts",
                                                   "spread", "click",  "alone", "air heard"};

/// Rounded, so that the table and the sentences agree; never -0.
static double
whole(const double value)
{
  return round(value) + 0.0;
}

/// A number of milliseconds; "" for NAN.
static void
put_ms(char cell[CELL_SIZE], const bool sign, const double value)
{
  if (isfinite(value)) {
    snprintf(cell, CELL_SIZE, sign ? "%+.0f ms" : "%.0f ms", whole(value));
  }
}

/// A cell of the table; "" if there is nothing to tell.
static void
fill_cell(const SrPracticeDay* const day, const Column column, char cell[CELL_SIZE])
{
  char words[SR_DAY_WORDS_SIZE];
  cell[0] = '\0';
  switch (column) {
  case COLUMN_DAY:
    snprintf(cell, CELL_SIZE, "%.20s", sr_show_day(day->day, false, words));
    break;
  case COLUMN_ROUNDS:
    snprintf(cell, CELL_SIZE, "%u", day->rounds);
    break;
  case COLUMN_MINUTES:
    snprintf(cell, CELL_SIZE, "%.1f", day->seconds / 60.0);
    break;
  case COLUMN_CLEAN:
    if (isfinite(day->best_clean_bpm)) {
      snprintf(cell, CELL_SIZE, "%.0f", whole(day->best_clean_bpm));
    }
    break;
  case COLUMN_CUTS:
    if (day->cuts) {
      snprintf(cell, CELL_SIZE, "%.0f %%", whole(100.0 * day->cuts_clean / day->cuts));
    }
    break;
  case COLUMN_SPREAD:
    put_ms(cell, false, day->spread_ms);
    break;
  case COLUMN_CLICK:
    put_ms(cell, true, day->offset_ms);
    break;
  case COLUMN_ALONE:
    put_ms(cell, false, day->alone_ms);
    break;
  case COLUMN_AIR:
    if (day->air) {
      snprintf(cell, CELL_SIZE, "%u of %u", day->air_heard, day->air);
    }
    break;
  case COLUMN_COUNT:
    break;
  }
}

static void
write_table(FILE* const stream, const SrPracticeDay* const days, const size_t count)
{
  int widths[COLUMN_COUNT] = {0};
  char cell[CELL_SIZE];
  for (size_t i = 0; i < count; ++i) {
    for (int c = 0; c < COLUMN_COUNT; ++c) {
      fill_cell(&days[i], (Column)c, cell);
      const int width = (int)strlen(cell);
      const int least = (int)strlen(headings[c]);
      // A column without any cell has no width
      widths[c] = width && widths[c] < least ? least : widths[c];
      widths[c] = width > widths[c] ? width : widths[c];
    }
  }
  for (size_t row = 0; row <= count; ++row) {
    // The day stands on the left, numbers on the right
    fill_cell(&days[row ? row - 1 : 0], COLUMN_DAY, cell);
    fprintf(stream, "  %-*s", widths[COLUMN_DAY], row ? cell : headings[COLUMN_DAY]);
    for (int c = COLUMN_DAY + 1; c < COLUMN_COUNT; ++c) {
      if (widths[c]) {
        fill_cell(&days[row ? row - 1 : 0], (Column)c, cell);
        fprintf(stream, "  %*s", widths[c], row ? (cell[0] ? cell : "-") : headings[c]);
      }
    }
    fputc('\n', stream);
  }
}

/// A list of words in a sentence being written.
static void add_words(FILE* const sentence, const char* const format, ...) SR_PRINTF(2, 3);

static void
add_words(FILE* const sentence, const char* const format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  fputs(", ", sentence);
  vfprintf(sentence, format, arguments);
  va_end(arguments);
}

/// A day as a sentence, for a narrow terminal.
static void
write_sentence(FILE* const stream, const SrPracticeDay* const day, const SrShowStyle* const style)
{
  char* text = NULL;
  size_t size = 0;
  char words[SR_DAY_WORDS_SIZE];
  FILE* const sentence = open_memstream(&text, &size);
  if (!sentence) {
    return;
  }
  fprintf(sentence, "  %s: %u round%s, %.1f min", sr_show_day(day->day, false, words), day->rounds,
          day->rounds == 1 ? "" : "s", day->seconds / 60.0);
  if (isfinite(day->best_clean_bpm)) {
    add_words(sentence, "clean at %.0f", whole(day->best_clean_bpm));
  }
  if (day->cuts) {
    add_words(sentence, "%.0f %% of cuts clean", whole(100.0 * day->cuts_clean / day->cuts));
  }
  if (isfinite(day->spread_ms)) {
    add_words(sentence, "spread %.0f ms", whole(day->spread_ms));
  }
  if (isfinite(day->offset_ms)) {
    add_words(sentence, "%.0f ms %s the click", whole(fabs(day->offset_ms)),
              day->offset_ms < 0.0 ? "ahead of" : "behind");
  }
  if (isfinite(day->alone_ms)) {
    add_words(sentence, "%.0f ms off alone", whole(day->alone_ms));
  }
  if (day->air) {
    add_words(sentence, "air heard %u of %u times", day->air_heard, day->air);
  }
  if (!fclose(sentence)) {
    const SrShowLine line = {.indent = 4, .columns = style->columns};
    sr_show_words(stream, text, &line);
    fputc('\n', stream);
  }
  free(text);
}

void
sr_show_progress(FILE* const stream, const SrPhraseProgress* const progress, const size_t days,
                 const SrShowStyle* const style)
{
  const size_t count = days < progress->day_count ? days : progress->day_count;
  const SrPracticeDay* const last = progress->days + progress->day_count - count;
  char phrase[SR_PHRASE_WORDS_SIZE];
  char* const safe =
      sr_show_safe(sr_show_history_phrase(&progress->phrase, phrase), style->unicode);
  const SrShowLine heading = {.indent = 2, .columns = style->columns};
  sr_show_words(stream, safe ? safe : "", &heading);
  fputc('\n', stream);
  free(safe);
  if (style->columns == 0 || style->columns >= TABLE_COLUMNS) {
    write_table(stream, last, count);
  } else {
    for (size_t i = 0; i < count; ++i) {
      write_sentence(stream, &last[i], style);
    }
  }
  char words[SR_TREND_WORDS_SIZE + 2] = "  ";
  sr_show_trends(&progress->trends, words + 2);
  const SrShowLine line = {.indent = 4, .columns = style->columns};
  sr_show_words(stream, words, &line);
  fputc('\n', stream);
}
