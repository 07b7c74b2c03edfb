// SPDX-License-Identifier: GPL-3.0-or-later

#include "round_signs.h"

#include <math.h>

/// How far a sign reaches beyond the note.
#define REACH 0.3

void
sr_sign_tick(const SrSignPlace* const place, const SrTick tick)
{
  const SrPen* const pen = place->pen;
  const SrTheme* const theme = place->theme;
  const double reach = place->half + REACH * place->size;
  const bool hollow = tick == SR_TICK_HOLLOW || tick == SR_TICK_ABSENT;
  const SrColour colour = tick == SR_TICK_CLEAN    ? theme->ink
                          : tick == SR_TICK_HOLLOW ? theme->soft
                                                   : theme->fault;
  const double width = SR_TICK_WIDTH * place->size;
  const SrArea area = {place->x, place->y - reach, width, 2.0 * reach};
  sr_pen_round_path(pen, &area, 0.06 * place->size);
  sr_pen_colour(pen, hollow ? theme->paper : colour);
  cairo_fill_preserve(pen->cairo);
  // A thin edge of paper, so that it is visible on the line too
  sr_pen_colour(pen, hollow ? colour : theme->paper);
  cairo_set_line_width(pen->cairo, (hollow ? 0.08 : 0.06) * place->size);
  cairo_stroke(pen->cairo);
  if (tick == SR_TICK_STRAY) {
    cairo_new_sub_path(pen->cairo);
    cairo_arc(pen->cairo, place->x + width / 2.0, place->y - reach - 0.1 * place->size,
              0.17 * place->size, 0.0, 2.0 * M_PI);
    sr_pen_colour(pen, theme->paper);
    cairo_fill_preserve(pen->cairo);
    sr_pen_colour(pen, colour);
    cairo_set_line_width(pen->cairo, 0.1 * place->size);
    cairo_stroke(pen->cairo);
  }
}

double
sr_sign_block(const SrSignPlace* const place, const double width)
{
  const double reach = place->half + REACH * place->size;
  const double wide = fmax(width, 2.0 * SR_TICK_WIDTH * place->size);
  cairo_rectangle(place->pen->cairo, place->x, place->y - reach, wide, 2.0 * reach);
  sr_pen_colour(place->pen, place->theme->fault);
  cairo_fill_preserve(place->pen->cairo);
  sr_pen_colour(place->pen, place->theme->paper);
  cairo_set_line_width(place->pen->cairo, 0.06 * place->size);
  cairo_stroke(place->pen->cairo);
  return place->x + wide;
}

void
sr_sign_cross(const SrSignPlace* const place)
{
  cairo_t* const cairo = place->pen->cairo;
  const double reach = place->half + 0.5 * REACH * place->size;
  cairo_set_line_cap(cairo, CAIRO_LINE_CAP_ROUND);
  for (int pass = 0; pass < 2; ++pass) {
    cairo_move_to(cairo, place->x - reach, place->y - reach);
    cairo_line_to(cairo, place->x + reach, place->y + reach);
    cairo_move_to(cairo, place->x - reach, place->y + reach);
    cairo_line_to(cairo, place->x + reach, place->y - reach);
    sr_pen_colour(place->pen, pass ? place->theme->fault : place->theme->paper);
    cairo_set_line_width(cairo, (pass ? 0.18 : 0.34) * place->size);
    cairo_stroke(cairo);
  }
  cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
}

void
sr_sign_arrowhead(const SrSignPlace* const place)
{
  cairo_t* const cairo = place->pen->cairo;
  const double top = place->y + place->half + 0.1 * place->size;
  cairo_move_to(cairo, place->x - SR_ARROWHEAD * place->size, top + 0.55 * place->size);
  cairo_line_to(cairo, place->x, top);
  cairo_line_to(cairo, place->x + SR_ARROWHEAD * place->size, top + 0.55 * place->size);
  cairo_line_to(cairo, place->x, top + 0.36 * place->size);
  cairo_close_path(cairo);
  sr_pen_colour(place->pen, place->theme->fault);
  cairo_fill(cairo);
}

void
sr_sign_dashes(const SrPen* const pen, const SrColour colour, const double size)
{
  const double dashes[] = {0.34 * size, 0.2 * size};
  sr_pen_colour(pen, colour);
  cairo_set_dash(pen->cairo, dashes, 2, 0.0);
  cairo_set_line_width(pen->cairo, 0.14 * size);
  cairo_stroke(pen->cairo);
  cairo_set_dash(pen->cairo, NULL, 0, 0.0);
}

void
sr_sign_bar(const SrPen* const pen, const SrColour colour, const double from, const double to,
            const double y, const double size)
{
  sr_pen_colour(pen, colour);
  cairo_set_line_width(pen->cairo, 0.28 * size);
  cairo_set_line_cap(pen->cairo, CAIRO_LINE_CAP_ROUND);
  cairo_move_to(pen->cairo, from, y);
  cairo_line_to(pen->cairo, to, y);
  cairo_stroke(pen->cairo);
  cairo_set_line_cap(pen->cairo, CAIRO_LINE_CAP_BUTT);
}

void
sr_sign_wave(const SrPen* const pen, const SrColour colour, const SrBellowsPiece* const piece,
             const double size)
{
  const double period = 0.55 * size;
  const double rise = 0.4 * size;
  const double length = piece->x1 - piece->x0;
  const int waves = (int)fmax(1.0, floor(length / period));
  const double step = length / waves;
  const double slope = length > 0.0 ? (piece->y1 - piece->y0) / length : 0.0;
  cairo_move_to(pen->cairo, piece->x0, piece->y0);
  for (int i = 0; i < waves; ++i) {
    const double x = i * step;
    const double y = piece->y0 + slope * x;
    cairo_curve_to(pen->cairo, piece->x0 + x + 0.35 * step, y + 0.35 * slope * step - rise,
                   piece->x0 + x + 0.65 * step, y + 0.65 * slope * step + rise,
                   piece->x0 + x + step, y + slope * step);
  }
  sr_pen_colour(pen, colour);
  cairo_set_line_width(pen->cairo, 0.14 * size);
  cairo_stroke(pen->cairo);
}
