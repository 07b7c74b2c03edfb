// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/progress_picture.h>

#include "progress_layout.h"

#include <steadyreed/show_progress.h>

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Smallest limit to the size of letters.
#define LEAST_MOST 4.0

static bool
is_in_range(const SrPicturedProgress* const pictured, const SrProgressStyle* const style,
            const double width, const double height)
{
  bool right = pictured->day_count > 0 && width >= SR_PROGRESS_LEAST_WIDTH && isfinite(width) &&
               height > 0.0 && (style->most_size == 0.0 || style->most_size >= LEAST_MOST);
  for (size_t i = 1; i < pictured->day_count; ++i) {
    right = right && pictured->days[i - 1].day < pictured->days[i].day;
  }
  for (size_t i = 1; i < pictured->every_count; ++i) {
    right = right && pictured->every[i - 1].day < pictured->every[i].day;
  }
  return right;
}

/// Lay out with a pen that only measures.
static SrStatus
lay_out(SrProgressPicture* const picture, const SrPicturedProgress* const pictured,
        const SrProgressStyle* const style, const double height, SrError* const error)
{
  cairo_t* const cairo = sr_pen_measuring();
  SrPen pen;
  SrStatus status = SR_NO_MEMORY;
  if (sr_pen_begin(&pen, cairo)) {
    status = sr_pen_has_letters(&pen) ? sr_progress_layout(picture, pictured, style, &pen, height)
                                      : sr_error_set(error, SR_NOT_FOUND, SR_PEN_NO_LETTERS);
    sr_pen_end(&pen);
  }
  cairo_destroy(cairo);
  return status;
}

SrStatus
sr_progress_picture_new(const SrPicturedProgress* const pictured,
                        const SrProgressStyle* const style, const double width, const double height,
                        SrProgressPicture** const picture, SrError* const error)
{
  const SrProgressStyle usual = {0};
  *picture = NULL;
  if (!is_in_range(pictured, style ? style : &usual, width, height)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "There is no room for a picture of that size, or no day in order to draw.");
  }
  SrProgressPicture* const made = (SrProgressPicture*)calloc(1, sizeof(SrProgressPicture));
  SrStatus status = SR_NO_MEMORY;
  if (made) {
    made->width = width;
    status = lay_out(made, pictured, style ? style : &usual, height, error);
  }
  if (status != SR_OK) {
    sr_progress_picture_del(made);
    return status == SR_NO_MEMORY
               ? sr_error_set(error, status, "There is not enough memory to draw the picture.")
               : status;
  }
  *picture = made;
  return SR_OK;
}

double
sr_progress_picture_height(const SrProgressPicture* const picture)
{
  return picture->height;
}

SrStatus
sr_progress_picture_draw(const SrProgressPicture* const picture, cairo_t* const cairo,
                         const double left, const double top)
{
  SrPen pen;
  if (!sr_pen_begin(&pen, cairo)) {
    return SR_NO_MEMORY;
  }
  sr_progress_draw(picture, &pen, left, top);
  sr_pen_end(&pen);
  return SR_OK;
}

/// Add to words as far as they fit.
static void add(char words[SR_PROGRESS_WORDS_SIZE], const char* format, ...) SR_PRINTF(2, 3);

static void
add(char words[SR_PROGRESS_WORDS_SIZE], const char* const format, ...)
{
  const size_t used = strlen(words);
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(words + used, SR_PROGRESS_WORDS_SIZE - used, format, arguments);
  va_end(arguments);
}

const char*
sr_progress_picture_words(const SrProgressPicture* const picture,
                          char words[SR_PROGRESS_WORDS_SIZE])
{
  char from[SR_DAY_WORDS_SIZE];
  char to[SR_DAY_WORDS_SIZE];
  words[0] = '\0';
  add(words, "Progress from %s to %s, %zu day%s practised.",
      sr_show_day(picture->begun, true, from), sr_show_day(picture->last_day, true, to),
      picture->days, picture->days == 1 ? "" : "s");
  for (size_t i = 0; i < picture->chart_count; ++i) {
    const SrChart* const chart = &picture->charts[i];
    add(words, " %s: %s%s%s, %s%s.", sr_chart_title(chart), chart->value, chart->what[0] ? " " : "",
        chart->what, picture->bin == SR_BIN_DAY ? "on " : "", chart->when);
    if (chart->kind == SR_CHART_TEMPO) {
      add(words, " The best was %.0f on %s.", chart->best, sr_show_day(chart->best_day, true, to));
    }
  }
  return words;
}

void
sr_progress_picture_del(SrProgressPicture* const picture)
{
  if (picture) {
    sr_progress_charts_clear(picture);
    free(picture->ticks);
    free(picture);
  }
}
