// SPDX-License-Identifier: GPL-3.0-or-later

#include "two_rounds_layout.h"

#include <steadyreed/page.h>

#include <math.h>
#include <stdlib.h>

/// Between the two rounds of a line, and between two lines, against the size of names.
#define BETWEEN 0.7
#define APART 1.7
/// Letters are read well from this size on, without a limit of height.
#define COMFORT 11.0
/// Largest size without a limit of height.
#define USUAL_MOST 18.0
/// Where the search for a size begins, and its steps.
#define SMALLEST 0.01
#define HALVINGS 20
/// More bars on a line are only taken for letters larger by this.
#define CLEARLY 1.02

static double
height_of(const SrTwoRounds* const rounds)
{
  const double size = rounds->pictures[0]->rows.size;
  const double line = sr_round_line_height(rounds->pictures[0]) +
                      sr_round_line_height(rounds->pictures[1]) + BETWEEN * size;
  return (double)rounds->pictures[0]->system_count * (line + APART * size) - APART * size;
}

/// Lay both out on lines of some bars, as large as a height allows.
static SrStatus
lay_out(SrTwoRounds* const rounds, const size_t bars, const double most)
{
  SrStatus status = sr_round_layout_lines(rounds->pictures[0], bars, most);
  return status == SR_OK ? sr_round_layout_lines(rounds->pictures[1], bars, most) : status;
}

static SrStatus
fit(SrTwoRounds* const rounds, const size_t bars, const double most, const double height)
{
  SrStatus status = lay_out(rounds, bars, most);
  if (status != SR_OK || height_of(rounds) <= height) {
    return status;
  }
  double low = SMALLEST;
  double high = rounds->pictures[0]->rows.size;
  for (int i = 0; i < HALVINGS && status == SR_OK; ++i) {
    const double middle = 0.5 * (low + high);
    status = lay_out(rounds, bars, middle);
    if (height_of(rounds) <= height) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return status == SR_OK ? lay_out(rounds, bars, low) : status;
}

/// Choose how many bars stand on a line.
static SrStatus
choose(SrTwoRounds* const rounds, const double height)
{
  const double wanted = rounds->pictures[0]->style.most_size;
  const double most = wanted > 0.0       ? wanted
                      : isfinite(height) ? rounds->pictures[0]->width
                                         : USUAL_MOST;
  const double comfort = fmin(COMFORT, most);
  size_t best = 1;
  double size = 0.0;
  size_t lines = SIZE_MAX;
  for (size_t bars = 1; bars <= SR_PAGE_MOST_BARS_A_LINE; ++bars) {
    const SrStatus status = fit(rounds, bars, most, height);
    if (status != SR_OK) {
      return status;
    }
    const SrRoundPicture* const picture = rounds->pictures[0];
    const bool better = isfinite(height)
                            ? picture->rows.size > CLEARLY * size
                            : picture->rows.size >= comfort && picture->system_count < lines;
    if (bars == 1 || better) {
      best = bars;
      size = picture->rows.size;
      lines = picture->system_count;
    }
  }
  return fit(rounds, best, most, height);
}

/// Whether the two pictures have the same notes in the same places.
static bool
is_alike(const SrPicturedRound pictured[2])
{
  const SrPhrase* const one = pictured[0].phrase;
  const SrPhrase* const other = pictured[1].phrase;
  bool same = sr_phrase_note_count(one) == sr_phrase_note_count(other) &&
              pictured[0].first_bar == pictured[1].first_bar &&
              pictured[0].bar_count == pictured[1].bar_count &&
              !pictured[0].plan == !pictured[1].plan;
  for (size_t i = 0; same && i < sr_phrase_note_count(one); ++i) {
    same = fabs(sr_fraction_value(sr_phrase_note(one, i)->start) -
                sr_fraction_value(sr_phrase_note(other, i)->start)) < 1e-9;
  }
  return same;
}

SrStatus
sr_two_rounds_new(const SrPicturedRound pictured[2], const SrRoundStyle* const style,
                  const double width, const double height, SrTwoRounds** const rounds,
                  SrError* const error)
{
  *rounds = NULL;
  if (!is_alike(pictured)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "The two rounds are not of the same notes.");
  }
  SrTwoRounds* const made = (SrTwoRounds*)calloc(1, sizeof(SrTwoRounds));
  if (!made) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
  }
  SrStatus status = SR_OK;
  for (size_t i = 0; i < 2 && status == SR_OK; ++i) {
    status = sr_round_picture_new(&pictured[i], style, width, height, &made->pictures[i], error);
  }
  if (status == SR_OK) {
    status = choose(made, height);
    if (status != SR_OK) {
      (void)sr_error_set(error, status, "There is not enough memory to draw the picture.");
    }
  }
  if (status != SR_OK) {
    sr_two_rounds_del(made);
    return status;
  }
  const double range_ms = fmax(made->pictures[0]->range_ms, made->pictures[1]->range_ms);
  made->pictures[0]->range_ms = range_ms;
  made->pictures[1]->range_ms = range_ms;
  *rounds = made;
  return SR_OK;
}

double
sr_two_rounds_height(const SrTwoRounds* const rounds)
{
  return height_of(rounds);
}

/// Top of one round's part of a line, from the corner.
static double
top_of(const SrTwoRounds* const rounds, const size_t which, const size_t line)
{
  const double size = rounds->pictures[0]->rows.size;
  const double first = sr_round_line_height(rounds->pictures[0]) + BETWEEN * size;
  const double both = first + sr_round_line_height(rounds->pictures[1]) + APART * size;
  return (double)line * both + (which ? first : 0.0);
}

/// A line of one round where it is drawn.
static SrRoundLine
line_of(const SrTwoRounds* const rounds, const SrPen* const pen, const size_t which,
        const size_t index, const double left, const double top)
{
  const SrRoundPicture* const picture = rounds->pictures[which];
  const double own = (double)index * (sr_round_line_height(picture) + picture->rows.gap);
  return sr_round_line(picture, pen, index, left, top + top_of(rounds, which, index) - own);
}

/// Say which take a line is of.
static void
say_which(const SrRoundLine* const line, const size_t which, const double left)
{
  const SrRoundRows* const rows = &line->picture->rows;
  const SrFont font = {.size = 0.78 * rows->size,
                       .bold = true,
                       .colour = line->picture->theme.ink,
                       .most_width = rows->left - 0.2 * rows->size};
  (void)sr_pen_say_on(line->pen, &font, which ? "2nd" : "1st", left,
                      line->top + rows->slip + 0.78 * rows->number);
}

void
sr_two_rounds_draw_with(const SrTwoRounds* const rounds, const SrPen* const pen, const double left,
                        const double top)
{
  for (size_t i = 0; i < rounds->pictures[0]->system_count; ++i) {
    for (size_t which = 0; which < 2; ++which) {
      const SrRoundLine line = line_of(rounds, pen, which, i, left, top);
      sr_round_draw_line(&line);
      say_which(&line, which, left);
    }
  }
}

SrStatus
sr_two_rounds_draw(const SrTwoRounds* const rounds, cairo_t* const cairo, const double left,
                   const double top)
{
  SrPen pen;
  if (!sr_pen_begin(&pen, cairo)) {
    return SR_NO_MEMORY;
  }
  sr_two_rounds_draw_with(rounds, &pen, left, top);
  sr_pen_end(&pen);
  return SR_OK;
}

bool
sr_two_rounds_bar(const SrTwoRounds* const rounds, const size_t which, const size_t bar,
                  SrRoundBox* const box)
{
  const SrRoundPicture* const picture = rounds->pictures[which];
  SrRoundBox own;
  if (!sr_round_picture_bar(picture, bar, &own)) {
    return false;
  }
  const double step = sr_round_line_height(picture) + picture->rows.gap;
  const size_t line = (size_t)lround(own.top / step);
  own.top = top_of(rounds, which, line);
  *box = own;
  return true;
}

/// Distance of a number from a stretch.
static double
distance(const double from, const double length, const double number)
{
  return fmax(0.0, fmax(from - number, number - from - length));
}

size_t
sr_two_rounds_bar_at(const SrTwoRounds* const rounds, const double x, const double y)
{
  const size_t bars = rounds->pictures[0]->content.phrase.bar_count;
  size_t nearest = 0;
  double least = (double)INFINITY;
  for (size_t bar = 0; bar < bars; ++bar) {
    for (size_t which = 0; which < 2; ++which) {
      SrRoundBox box;
      if (sr_two_rounds_bar(rounds, which, bar, &box)) {
        const double away =
            hypot(distance(box.left, box.width, x), distance(box.top, box.height, y));
        nearest = away < least ? bar : nearest;
        least = fmin(least, away);
      }
    }
  }
  return nearest;
}

void
sr_two_rounds_del(SrTwoRounds* const rounds)
{
  if (rounds) {
    sr_round_picture_del(rounds->pictures[0]);
    sr_round_picture_del(rounds->pictures[1]);
    free(rounds);
  }
}
