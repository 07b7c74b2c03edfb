// SPDX-License-Identifier: GPL-3.0-or-later

#include "draw_stroke.h"

#include "ribbon.h"

#include <math.h>

/// Gap at each end of a stroke.
#define PARTED 0.5
/// Half of the width of a turn mark.
#define TURN_HALF 3.6
#define TICK_WIDTH 2.2
#define DIRECTION_SIZE 5.6

/// Draw a tick across the line; hollow for a cut that is left out.
static void
draw_tick(const SrPen* const pen, const bool left_out, const double x, const double y,
          const double size)
{
  const double reach = SR_STROKE_MARK * size;
  const SrArea area = {x, y - reach, TICK_WIDTH * size, 2.0 * reach};
  sr_pen_round_path(pen, &area, 0.5);
  sr_pen_colour(pen, left_out ? SR_COLOUR_PAPER : SR_COLOUR_INK);
  cairo_fill_preserve(pen->cairo);
  // A thin edge of paper, so that it is visible on the dark line too
  sr_pen_colour(pen, left_out ? SR_COLOUR_INK : SR_COLOUR_PAPER);
  cairo_set_line_width(pen->cairo, 0.6);
  cairo_stroke(pen->cairo);
}

void
sr_draw_stroke(const SrPen* const pen, const SrDrawnStroke* const stroke,
               const SrBellowsPiece* const piece, const double size)
{
  cairo_t* const cairo = pen->cairo;
  const double parted = fmin(PARTED, 0.15 * (piece->x1 - piece->x0));
  const double x0 = piece->x0 + (piece->begins ? parted : 0.0);
  const double x1 = piece->x1 - (piece->ends ? parted : 0.0);
  const double half = sr_ribbon_half(piece, SR_STROKE_HALF * size);
  sr_ribbon_path(pen, piece, x0, x1, half);
  sr_pen_colour(pen, stroke->draw ? SR_COLOUR_DRAW : SR_COLOUR_PRESS);
  cairo_fill_preserve(cairo);
  sr_pen_colour(pen, SR_COLOUR_INK);
  cairo_set_line_width(cairo, 0.7);
  cairo_stroke(cairo);

  double inside = x0 + 1.2 * size;
  if (piece->begins && stroke->turns) {
    inside += TURN_HALF * size;
  }
  if (piece->begins && stroke->cut != SR_DRAWN_NO_CUT) {
    draw_tick(pen, stroke->cut == SR_DRAWN_CUT_LEFT_OUT, inside, sr_ribbon_y(piece, inside), size);
    inside += (TICK_WIDTH + 0.8) * size;
  }
  // The triangle of its direction, as on the buttons
  const double triangle = DIRECTION_SIZE * size;
  if (x1 - inside > triangle + 0.6 && (!stroke->air || x1 - inside > 4.0 * triangle)) {
    const double x = inside + 0.6 + triangle / 2.0;
    sr_pen_colour(pen, stroke->draw ? SR_COLOUR_PAPER : SR_COLOUR_INK);
    sr_pen_direction(pen, stroke->draw, x, sr_ribbon_y(piece, x), triangle);
    inside += triangle + 0.6;
  }
  if (stroke->air && x1 - inside > 2.0) {
    sr_ribbon_gap_path(pen, piece, inside + 0.5, x1 - 1.0, half);
    sr_pen_colour(pen, SR_COLOUR_PAPER);
    cairo_fill_preserve(cairo);
    sr_pen_colour(pen, SR_COLOUR_INK);
    cairo_set_line_width(cairo, 0.6);
    cairo_stroke(cairo);
  }
}

void
sr_draw_turn(const SrPen* const pen, const double x, const double y, const double size)
{
  cairo_t* const cairo = pen->cairo;
  cairo_move_to(cairo, x, y - SR_STROKE_MARK * size);
  cairo_line_to(cairo, x + TURN_HALF * size, y);
  cairo_line_to(cairo, x, y + SR_STROKE_MARK * size);
  cairo_line_to(cairo, x - TURN_HALF * size, y);
  cairo_close_path(cairo);
  sr_pen_colour(pen, SR_COLOUR_PAPER);
  cairo_fill_preserve(cairo);
  sr_pen_colour(pen, SR_COLOUR_INK);
  cairo_set_line_width(cairo, 1.1);
  cairo_stroke(cairo);
}
