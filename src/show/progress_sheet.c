// SPDX-License-Identifier: GPL-3.0-or-later

#include "progress_sheet.h"

#include "page_words.h"
#include "pen_wrap.h"
#include "picture_file.h"
#include "progress_layout.h"

#include <steadyreed/show_progress.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MARGIN 30.0 ///< Above and below
#define SIDE 30.0   ///< Left and right
#define WIDTH (SR_A4_SHORT - 2.0 * SIDE)

#define TITLE_SIZE 19.0
#define FACTS_SIZE 11.0
#define FOOT_SIZE 7.5
#define PICTURE_SIZE 10.0
#define BETWEEN 14.0

/// The sentence is as large as this allows.
#define SENTENCE_LARGEST 24.0
#define SENTENCE_SMALLEST 13.0
#define SENTENCE_HEIGHT 132.0

static const char FOOT[] =
    "How it was measured. Better or worse is only said where it is more than chance: by the trend "
    "test of Mann and Kendall over the days practised of the last 30, at least 8, where it leaves "
    "less than 5 percent to chance for all figures together (Holm 1979). A figure of a day is the "
    "mean over its rounds. Spread is how far the notes lie from an even beat of your own; 6 ms are "
    "just noticeable in quick notes (Friberg and Sundberg 1995). Steadyreed.";

struct SrProgressSheetImpl {
  SrTheme theme;
  SrPageWords kept;
  const char* title;
  const char* facts;
  const char* sentence;
  SrProgressPicture* picture;
  double sentence_size;
  double sentence_top;
  double picture_top;
  double foot_top;
};

static SrWrap
wrap_of(const SrProgressSheet* const sheet, const double size, const bool strong)
{
  const SrWrap wrap = {.font = {.size = size,
                                .bold = strong,
                                .colour = strong ? sheet->theme.ink : sheet->theme.soft},
                       .width = WIDTH,
                       .leading = strong ? 1.14 : 0.0};
  return wrap;
}

static double
height_of(const SrPen* const pen, const SrWrap* const wrap, const char* const text)
{
  return sr_pen_wrap_height(wrap, sr_pen_wrap_lines(pen, wrap, text));
}

/// Choose the size of the sentence; returns its height.
static double
size_sentence(SrProgressSheet* const sheet, const SrPen* const pen)
{
  sheet->sentence_size = SENTENCE_LARGEST;
  for (;;) {
    const SrWrap wrap = wrap_of(sheet, sheet->sentence_size, true);
    const double height = height_of(pen, &wrap, sheet->sentence);
    if (height <= SENTENCE_HEIGHT || sheet->sentence_size <= SENTENCE_SMALLEST) {
      return height;
    }
    sheet->sentence_size -= 1.0;
  }
}

/// Time as "45 minutes" or "3 h 20 min".
static void
write_time(const double seconds, char words[32])
{
  const long minutes = lround(fmin(1e9, seconds / 60.0));
  if (minutes < 120) {
    snprintf(words, 32, "%ld minute%s", minutes, minutes == 1 ? "" : "s");
  } else {
    snprintf(words, 32, "%ld h %ld min", minutes / 60, minutes % 60);
  }
}

static SrStatus
write_words(SrProgressSheet* const sheet, const SrPhraseProgress* const progress)
{
  char phrase[SR_PHRASE_WORDS_SIZE];
  char words[SR_TREND_WORDS_SIZE];
  char from[SR_DAY_WORDS_SIZE];
  char to[SR_DAY_WORDS_SIZE];
  char time[32];
  double seconds = 0.0;
  unsigned rounds = 0;
  for (size_t i = 0; i < progress->day_count; ++i) {
    seconds += progress->days[i].seconds;
    rounds += progress->days[i].rounds;
  }
  write_time(seconds, time);
  sheet->title =
      sr_page_words_keep(&sheet->kept, sr_show_history_phrase(&progress->phrase, phrase));
  (void)sr_show_day(progress->days[0].day, true, from);
  (void)sr_show_day(progress->days[progress->day_count - 1].day, true, to);
  if (progress->day_count == 1) {
    snprintf(words, sizeof(words), "%s · %u round%s · %s of playing", to, rounds,
             rounds == 1 ? "" : "s", time);
  } else {
    snprintf(words, sizeof(words), "%s to %s · %zu days · %u rounds · %s of playing", from, to,
             progress->day_count, rounds, time);
  }
  sheet->facts = sr_page_words_keep(&sheet->kept, words);
  sheet->sentence = sr_page_words_keep(&sheet->kept, sr_show_trends(&progress->trends, words));
  return sheet->title && sheet->facts && sheet->sentence ? SR_OK : SR_NO_MEMORY;
}

static SrStatus
lay_out(SrProgressSheet* const sheet, const SrProgressPages* const pages,
        const SrPhraseProgress* const progress, const SrPen* const pen, SrError* const error)
{
  const SrWrap foot = wrap_of(sheet, FOOT_SIZE, false);
  const int last = progress->days[progress->day_count - 1].day;
  const SrPicturedProgress pictured = {
      .days = progress->days,
      .day_count = progress->day_count,
      .every = pages->every,
      .every_count = pages->every_count,
      .last_day = pages->today - last < SR_TREND_WINDOW ? pages->today : last};
  const SrProgressStyle style = {.minutes_first = true, .most_size = PICTURE_SIZE};
  sheet->foot_top = SR_A4_LONG - MARGIN - height_of(pen, &foot, FOOT);
  sheet->sentence_top = MARGIN + 1.25 * TITLE_SIZE + 1.25 * FACTS_SIZE + BETWEEN;
  sheet->picture_top = sheet->sentence_top + size_sentence(sheet, pen) + BETWEEN;
  return sr_progress_picture_new(&pictured, &style, WIDTH,
                                 sheet->foot_top - BETWEEN - sheet->picture_top, &sheet->picture,
                                 error);
}

static SrStatus
measure(SrProgressSheet* const sheet, const SrProgressPages* const pages,
        const SrPhraseProgress* const progress, SrError* const error)
{
  cairo_t* const cairo = sr_pen_measuring();
  SrPen pen;
  SrStatus status = SR_NO_MEMORY;
  if (sr_pen_begin(&pen, cairo)) {
    status = lay_out(sheet, pages, progress, &pen, error);
    sr_pen_end(&pen);
  }
  cairo_destroy(cairo);
  return status;
}

SrStatus
sr_progress_sheet_new(const SrProgressPages* const pages, const size_t index,
                      SrProgressSheet** const sheet, SrError* const error)
{
  const SrPhraseProgress* const progress = &pages->phrases[index];
  *sheet = NULL;
  if (!progress->day_count) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "There is no page of a phrase that was never played.");
  }
  SrProgressSheet* const made = (SrProgressSheet*)calloc(1, sizeof(SrProgressSheet));
  SrStatus status = SR_NO_MEMORY;
  if (made) {
    made->theme = sr_theme(false);
    status = write_words(made, progress);
  }
  if (status == SR_OK) {
    status = measure(made, pages, progress, error);
  }
  if (status != SR_OK) {
    sr_progress_sheet_del(made);
    return status == SR_NO_MEMORY
               ? sr_error_set(error, status, "There is not enough memory to draw the picture.")
               : status;
  }
  *sheet = made;
  return SR_OK;
}

const char*
sr_progress_sheet_title(const SrProgressSheet* const sheet)
{
  return sheet->title;
}

void
sr_progress_sheet_draw(const SrProgressSheet* const sheet, const SrPen* const pen)
{
  const SrFont title = {.size = TITLE_SIZE,
                        .bold = true,
                        .colour = sheet->theme.soft,
                        .most_width = WIDTH,
                        .smallest = 0.65};
  const SrFont facts = {
      .size = FACTS_SIZE, .colour = sheet->theme.soft, .most_width = WIDTH, .smallest = 0.8};
  const SrWrap sentence = wrap_of(sheet, sheet->sentence_size, true);
  const SrWrap foot = wrap_of(sheet, FOOT_SIZE, false);
  sr_pen_say(pen, &title, sheet->title, SIDE, MARGIN);
  sr_pen_say(pen, &facts, sheet->facts, SIDE, MARGIN + 1.25 * TITLE_SIZE);
  (void)sr_pen_wrap_say(pen, &sentence, sheet->sentence, SIDE, sheet->sentence_top);
  sr_progress_draw(sheet->picture, pen, SIDE, sheet->picture_top);
  (void)sr_pen_wrap_say(pen, &foot, FOOT, SIDE, sheet->foot_top);
}

void
sr_progress_sheet_del(SrProgressSheet* const sheet)
{
  if (sheet) {
    sr_progress_picture_del(sheet->picture);
    sr_page_words_clear(&sheet->kept);
    free(sheet);
  }
}
