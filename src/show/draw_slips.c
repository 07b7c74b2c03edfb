// SPDX-License-Identifier: GPL-3.0-or-later

// Breaks in the flow of a round, in a row above its line: a sign where it was, and a few words
// where there is room.

#include "round_layout.h"

#include <math.h>

/// Sizes against that of names.
#define SIGN 0.7
#define WORDS 0.68

static void
stroke_lines(const SrPen* const pen, const double size)
{
  cairo_set_line_width(pen->cairo, 0.2 * size);
  cairo_stroke(pen->cairo);
}

/// Draw an arrow, backwards or forwards, with a bar where it ends or without.
static void
draw_arrow(const SrPen* const pen, const double left, const double middle, const double size,
           const bool forwards, const bool bar)
{
  cairo_t* const cairo = pen->cairo;
  const double end = forwards ? left + 0.95 * size : left + 0.05 * size;
  const double from = forwards ? left : left + size;
  const double tip = bar ? end + (forwards ? -0.12 : 0.12) * size : end;
  const double back = forwards ? -0.38 * size : 0.38 * size;
  if (bar) {
    cairo_move_to(cairo, end, middle - 0.45 * size);
    cairo_line_to(cairo, end, middle + 0.45 * size);
  }
  cairo_move_to(cairo, from, middle);
  cairo_line_to(cairo, tip, middle);
  cairo_move_to(cairo, tip + back, middle - 0.34 * size);
  cairo_line_to(cairo, tip, middle);
  cairo_line_to(cairo, tip + back, middle + 0.34 * size);
  stroke_lines(pen, 0.8 * size);
}

/// Draw a line from one point to another, as shares of a square.
static void
add_line(const SrPen* const pen, const double left, const double middle, const double size,
         const double ends[4])
{
  cairo_move_to(pen->cairo, left + ends[0] * size, middle + ends[1] * size);
  cairo_line_to(pen->cairo, left + ends[2] * size, middle + ends[3] * size);
}

/// Draw the sign of a break, in a square of `size`.
static void
draw_sign(const SrPen* const pen, const SrSlipKind kind, const double left, const double middle,
          const double size)
{
  static const double PAUSE[2][4] = {{0.25, -0.45, 0.25, 0.45}, {0.7, -0.45, 0.7, 0.45}};
  static const double CHEVRONS[4][4] = {
      {0.1, -0.4, 0.48, 0.0}, {0.48, 0.0, 0.1, 0.4}, {0.5, -0.4, 0.88, 0.0}, {0.88, 0.0, 0.5, 0.4}};
  static const double TEMPO[3][4] = {
      {0.0, -0.32, 1.0, -0.32}, {0.0, 0.0, 0.66, 0.0}, {0.0, 0.32, 0.33, 0.32}};
  switch (kind) {
  case SR_SLIP_FALSE_START:
    draw_arrow(pen, left, middle, size, false, false);
    return;
  case SR_SLIP_RESTART:
    draw_arrow(pen, left, middle, size, false, true);
    return;
  case SR_SLIP_LEFT_OUT:
    draw_arrow(pen, left, middle, size, true, true);
    return;
  case SR_SLIP_HESITATION:
    add_line(pen, left, middle, size, PAUSE[0]);
    add_line(pen, left, middle, size, PAUSE[1]);
    break;
  case SR_SLIP_HURRIED:
    for (int i = 0; i < 4; ++i) {
      add_line(pen, left, middle, size, CHEVRONS[i]);
    }
    break;
  case SR_SLIP_OTHER_TEMPO:
    for (int i = 0; i < 3; ++i) {
      add_line(pen, left, middle, size, TEMPO[i]);
    }
    break;
  case SR_SLIP_STOPPED:
    cairo_rectangle(pen->cairo, left + 0.1 * size, middle - 0.4 * size, 0.8 * size, 0.8 * size);
    cairo_fill(pen->cairo);
    return;
  }
  stroke_lines(pen, 0.9 * size);
}

/// Whether a break is on this line; one at its end belongs to the line that it ends.
static bool
is_here(const SrBellowsSystem* const system, const SrSeenSlip* const slip)
{
  const bool after = slip->kind == SR_SLIP_STOPPED || slip->kind == SR_SLIP_FALSE_START;
  return after ? slip->at > system->from + 1e-9 && slip->at <= system->to + 1e-9
               : slip->at >= system->from - 1e-9 && slip->at < system->to - 1e-9;
}

/// Where the next sign of this line begins, or the line ends.
static double
room_until(const SrRoundLine* const line, const size_t index)
{
  const SrRoundContent* const content = &line->picture->content;
  const double right = line->box.area.left + line->box.area.width;
  for (size_t i = index + 1; i < content->slip_count; ++i) {
    if (is_here(line->system, &content->slips[i])) {
      return fmin(right, sr_bellows_x(&line->box, content->slips[i].at));
    }
  }
  return right;
}

/// Draw the line over a stretch at another tempo.
static void
draw_stretch(const SrRoundLine* const line, const SrSeenSlip* const slip, const double y)
{
  const double from = fmax(slip->at, line->system->from);
  const double to = fmin(slip->until, line->system->to);
  if (slip->kind == SR_SLIP_OTHER_TEMPO && to > from) {
    const double size = line->picture->rows.size;
    cairo_set_line_width(line->pen->cairo, 0.12 * size);
    cairo_move_to(line->pen->cairo, sr_bellows_x(&line->box, from), y);
    cairo_line_to(line->pen->cairo, sr_bellows_x(&line->box, to), y);
    cairo_stroke(line->pen->cairo);
  }
}

void
sr_draw_slips(const SrRoundLine* const line)
{
  const SrRoundContent* const content = &line->picture->content;
  const SrRoundRows* const rows = &line->picture->rows;
  const SrTheme* const theme = &line->picture->theme;
  const double size = SIGN * rows->size;
  const double middle = line->top + 0.45 * rows->slip;
  const double right = line->box.area.left + line->box.area.width;
  const SrFont font = {.size = WORDS * rows->size, .bold = true, .colour = theme->ink};
  const double baseline = middle + 0.5 * sr_pen_capital(line->pen, true) * font.size;
  double taken = line->box.area.left; // up to where the row is full
  for (size_t i = 0; i < content->slip_count; ++i) {
    const SrSeenSlip* const slip = &content->slips[i];
    sr_pen_colour(line->pen, theme->fault);
    draw_stretch(line, slip, line->top + 0.97 * rows->slip);
    if (!is_here(line->system, slip)) {
      continue;
    }
    const double until = room_until(line, i);
    const double at = fmin(sr_bellows_x(&line->box, slip->at), right - size);
    const double left = fmax(at, taken);
    if (left > right - size + 1e-6) {
      continue; // a row full of signs
    }
    sr_pen_colour(line->pen, theme->fault);
    draw_sign(line->pen, slip->kind, left, middle, size);
    const double width = sr_pen_width(line->pen, &font, slip->words);
    const double after = left + size + 0.2 * size;
    const double before = left - 0.2 * size - width;
    if (after + width < until - 0.2 * size || (after + width <= right && until >= right)) {
      (void)sr_pen_say_on(line->pen, &font, slip->words, after, baseline);
      taken = after + width + 0.3 * size;
    } else {
      if (before > taken) {
        (void)sr_pen_say_on(line->pen, &font, slip->words, before, baseline);
      }
      taken = left + 1.2 * size;
    }
  }
}
