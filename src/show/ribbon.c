// SPDX-License-Identifier: GPL-3.0-or-later

#include "ribbon.h"

#include <math.h>

/// Most a steep ribbon is thickened.
#define STEEPEST 1.8

double
sr_ribbon_y(const SrBellowsPiece* const piece, const double x)
{
  const double width = piece->x1 - piece->x0;
  return width > 0.0 ? piece->y0 + (piece->y1 - piece->y0) * (x - piece->x0) / width : piece->y0;
}

double
sr_ribbon_half(const SrBellowsPiece* const piece, const double half)
{
  const double width = piece->x1 - piece->x0;
  const double slope = width > 0.0 ? (piece->y1 - piece->y0) / width : 0.0;
  return half * fmin(STEEPEST, sqrt(1.0 + slope * slope));
}

void
sr_ribbon_path(const SrPen* const pen, const SrBellowsPiece* const piece, const double x0,
               const double x1, const double half)
{
  cairo_t* const cairo = pen->cairo;
  cairo_move_to(cairo, x0, sr_ribbon_y(piece, x0) - half);
  cairo_line_to(cairo, x1, sr_ribbon_y(piece, x1) - half);
  cairo_line_to(cairo, x1, sr_ribbon_y(piece, x1) + half);
  cairo_line_to(cairo, x0, sr_ribbon_y(piece, x0) + half);
  cairo_close_path(cairo);
}

void
sr_ribbon_gap_path(const SrPen* const pen, const SrBellowsPiece* const piece, const double x0,
                   const double x1, const double thickness)
{
  cairo_t* const cairo = pen->cairo;
  const double half = 0.62 * thickness;
  const double slant = fmin(0.15 * (x1 - x0), thickness);
  cairo_move_to(cairo, x0, sr_ribbon_y(piece, x0));
  cairo_line_to(cairo, x0 + slant, sr_ribbon_y(piece, x0 + slant) - half);
  cairo_line_to(cairo, x1 - slant, sr_ribbon_y(piece, x1 - slant) - half);
  cairo_line_to(cairo, x1, sr_ribbon_y(piece, x1));
  cairo_line_to(cairo, x1 - slant, sr_ribbon_y(piece, x1 - slant) + half);
  cairo_line_to(cairo, x0 + slant, sr_ribbon_y(piece, x0 + slant) + half);
  cairo_close_path(cairo);
}
