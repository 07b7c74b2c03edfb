// SPDX-License-Identifier: GPL-3.0-or-later

#include "draw_small_rounds.h"

#include "round_content.h"

#include <math.h>
#include <stdio.h>

#define NARROWEST 44.0
#define WIDEST 110.0
#define BETWEEN 7.0
#define INSIDE 4.0
#define WORDS 8.5
/// Narrowest mark with the gap after it.
#define MARK 2.0
/// Width kept for words about rounds that are not drawn.
#define MORE 62.0

/// Least height of a mark with a fault, as a share.
#define FAULTY 0.5

/// Draw a mark for each stretch of a round: of one note, or of several if there are many, and then
/// the taller the more of them are faults.
static void
draw_marks(const SrPen* const pen, const SrTheme* const theme, const SrRound* const round,
           const SrArea* const area)
{
  const size_t fit = (size_t)fmax(1.0, floor(area->width / MARK));
  const size_t each = (round->note_count + fit - 1) / fit;
  const size_t marks = each ? (round->note_count + each - 1) / each : 0;
  const double step = area->width / (double)(marks ? marks : 1);
  for (size_t m = 0; m < marks; ++m) {
    size_t faults = 0;
    size_t notes = 0;
    for (size_t i = m * each; i < (m + 1) * each && i < round->note_count; ++i) {
      faults += sr_round_is_fault(round, i) ? 1 : 0;
      ++notes;
    }
    const double share = notes > 1 && faults ? (double)(faults - 1) / (double)(notes - 1) : 1.0;
    const double height = area->height * (faults ? FAULTY + (1.0 - FAULTY) * share : 0.28);
    sr_pen_colour(pen, faults ? theme->fault : theme->plain);
    cairo_rectangle(pen->cairo, area->left + (double)m * step, area->top + area->height - height,
                    fmin(0.7 * step, 5.0), height);
    cairo_fill(pen->cairo);
  }
}

SrStatus
sr_round_marks_draw(const SrRound* const round, const bool dark, cairo_t* const cairo,
                    const double left, const double top, const double width, const double height)
{
  const SrTheme theme = sr_theme(dark);
  const SrArea area = {left, top, width, height};
  SrPen pen;
  if (!sr_pen_begin(&pen, cairo)) {
    return SR_NO_MEMORY;
  }
  draw_marks(&pen, &theme, round, &area);
  sr_pen_end(&pen);
  return SR_OK;
}

static void
draw_box(const SrPen* const pen, const SrTheme* const theme, const SrRound* const round,
         const size_t number, const bool chosen, const SrArea* const box)
{
  const SrArea inside = {box->left + INSIDE, box->top + INSIDE, box->width - 2.0 * INSIDE,
                         box->height - 2.0 * INSIDE};
  draw_marks(pen, theme, round, &inside);
  sr_pen_round_path(pen, box, 2.5);
  sr_pen_colour(pen, chosen ? theme->ink : theme->line);
  cairo_set_line_width(pen->cairo, chosen ? 1.8 : 0.7);
  cairo_stroke(pen->cairo);
  char words[24];
  const SrFont font = {.size = WORDS, .bold = chosen, .colour = chosen ? theme->ink : theme->soft};
  snprintf(words, sizeof(words), "%zu", number);
  sr_pen_say_middle(pen, &font, words, box->left + box->width / 2.0, box->top + box->height + 2.0);
}

void
sr_draw_small_rounds(const SrPen* const pen, const SrTheme* const theme,
                     const SrAssessment* const assessment, const size_t chosen,
                     const SrArea* const area)
{
  const size_t count = assessment->round_count;
  const size_t all = (size_t)((area->width + BETWEEN) / (NARROWEST + BETWEEN));
  const bool some = count > all;
  const double room = area->width - (some ? MORE : 0.0);
  const size_t fit = (size_t)((room + BETWEEN) / (NARROWEST + BETWEEN));
  const size_t shown = some ? fit : count;
  const size_t latest = count - shown;
  const size_t first = chosen < shown                ? 0
                       : chosen - shown / 2 < latest ? chosen - shown / 2
                                                     : latest;
  const double width =
      fmin(WIDEST, (room - (double)(shown - 1) * BETWEEN) / (double)(shown ? shown : 1));
  for (size_t i = 0; i < shown; ++i) {
    const SrArea box = {area->left + (double)i * (width + BETWEEN), area->top, width,
                        area->height - WORDS - 5.0};
    draw_box(pen, theme, &assessment->rounds[first + i], first + i + 1, first + i == chosen, &box);
  }
  if (some) {
    char words[48];
    const SrFont font = {.size = WORDS, .colour = theme->soft, .most_width = MORE - BETWEEN};
    snprintf(words, sizeof(words), "%zu rounds in all", count);
    sr_pen_say(pen, &font, words, area->left + room + BETWEEN, area->top + 8.0);
  }
}
