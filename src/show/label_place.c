// SPDX-License-Identifier: GPL-3.0-or-later

#include "label_place.h"

#include <math.h>

/// Least distance between words.
#define PAD 1.5
/// The other side is used if it is nearer by more than this.
#define SIDE_WORTH 5.0

void
sr_label_take(SrLabelField* const field, const SrArea* const area)
{
  if (field->taken_count < field->room) {
    field->taken[field->taken_count++] = *area;
  }
}

static double
height_at(const SrBellowsPiece* const piece, const double x)
{
  const double width = piece->x1 - piece->x0;
  return width > 0.0 ? piece->y0 + (piece->y1 - piece->y0) * (x - piece->x0) / width : piece->y0;
}

/// Highest and lowest point of the line between two positions; false if there is no line there.
static bool
reach(const SrLabelField* const field, const double left, const double right, double* const top,
      double* const bottom)
{
  bool any = false;
  *top = (double)INFINITY;
  *bottom = -(double)INFINITY;
  for (size_t i = 0; i < field->piece_count; ++i) {
    const SrBellowsPiece* const piece = &field->pieces[i];
    if (piece->x1 < left || piece->x0 > right) {
      continue;
    }
    const double one = height_at(piece, fmax(piece->x0, left));
    const double two = height_at(piece, fmin(piece->x1, right));
    *top = fmin(*top, fmin(one, two) - field->half);
    *bottom = fmax(*bottom, fmax(one, two) + field->half);
    any = true;
  }
  return any;
}

/// The area that overlaps a rectangle; NULL if none does.
static const SrArea*
in_the_way(const SrLabelField* const field, const SrArea* const area)
{
  for (size_t i = 0; i < field->taken_count; ++i) {
    if (sr_area_meets(&field->taken[i], area, PAD)) {
      return &field->taken[i];
    }
  }
  return NULL;
}

/// The nearest free place on one side.
static SrArea
place_on_side(const SrLabelField* const field, SrArea area, const bool above, const double line,
              double* const moved)
{
  const double first = above ? line - area.height : line;
  area.top = first;
  // Each step passes one area for good, so this ends
  const SrArea* other;
  while ((other = in_the_way(field, &area))) {
    area.top =
        above ? other->top - PAD - area.height - 0.01 : other->top + other->height + PAD + 0.01;
  }
  *moved = fabs(area.top - first);
  return area;
}

SrArea
sr_label_place(SrLabelField* const field, const double x, const double width, const double height,
               const bool above, double* const moved)
{
  const double latest = field->right - width;
  SrArea area = {fmax(fmin(x, latest), field->left), 0.0, width, height};
  double top = 0.0;
  double bottom = 0.0;
  if (!reach(field, area.left, area.left + width, &top, &bottom)) {
    top = 0.0;
    bottom = 0.0;
  }
  double wanted_moved = 0.0;
  double other_moved = 0.0;
  const SrArea wanted = place_on_side(field, area, above, above ? top : bottom, &wanted_moved);
  const SrArea other = place_on_side(field, area, !above, above ? bottom : top, &other_moved);
  const bool turn = other_moved + SIDE_WORTH < wanted_moved;
  area = turn ? other : wanted;
  if (moved) {
    *moved = turn ? other_moved : wanted_moved;
  }
  sr_label_take(field, &area);
  return area;
}

bool
sr_label_is_free(const SrLabelField* const field, const SrArea* const area)
{
  double top = 0.0;
  double bottom = 0.0;
  if (in_the_way(field, area)) {
    return false;
  }
  return !reach(field, area->left, area->left + area->width, &top, &bottom) ||
         area->top >= bottom || area->top + area->height <= top;
}
