// SPDX-License-Identifier: GPL-3.0-or-later

// Words beside a line: on nothing, and near.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "show/label_place.h"

#include <math.h>
#include <stdlib.h>

#define PIECES 40

static double
random_between(unsigned* const seed, const double low, const double high)
{
  // The "quick and dirty" generator of Numerical Recipes (Press et al. 1992), from memory.
  *seed = 1664525u * *seed + 1013904223u;
  return low + (high - low) * (double)(*seed >> 8) / 16777216.0;
}

/// Whether the line, with its thickness, comes into a rectangle: looked for point by point.
static bool
line_in(const SrLabelField* const field, const SrArea* const area)
{
  for (size_t i = 0; i < field->piece_count; ++i) {
    const SrBellowsPiece* const piece = &field->pieces[i];
    for (int step = 0; step <= 200; ++step) {
      const double share = step / 200.0;
      const double x = piece->x0 + share * (piece->x1 - piece->x0);
      const double y = piece->y0 + share * (piece->y1 - piece->y0);
      if (x >= area->left && x <= area->left + area->width && y + field->half > area->top + 1e-6 &&
          y - field->half < area->top + area->height - 1e-6) {
        return true;
      }
    }
  }
  return false;
}

static void
nothing_overlaps(void** const state)
{
  (void)state;
  unsigned seed = 1;
  size_t on_other_side = 0;
  for (int round = 0; round < 200; ++round) {
    SrBellowsPiece pieces[PIECES];
    double x = 0.0;
    double y = 50.0;
    for (size_t i = 0; i < PIECES; ++i) {
      const double width = random_between(&seed, 2.0, 30.0);
      const double next = fmin(100.0, fmax(0.0, y + random_between(&seed, -20.0, 20.0)));
      const SrBellowsPiece piece = {x, y, x + width, next, true, true};
      pieces[i] = piece;
      x += width;
      y = next;
    }
    SrArea taken[2 * PIECES];
    SrLabelField field = {.pieces = pieces,
                          .piece_count = PIECES,
                          .half = 6.0,
                          .left = 0.0,
                          .right = x,
                          .taken = taken,
                          .room = sizeof(taken) / sizeof(taken[0])};
    SrArea areas[PIECES];
    for (size_t i = 0; i < PIECES; ++i) {
      const bool above = random_between(&seed, 0.0, 1.0) < 0.5;
      double moved = -1.0;
      areas[i] = sr_label_place(&field, pieces[i].x0, random_between(&seed, 5.0, 30.0), 12.0, above,
                                &moved);
      assert_true(moved >= 0.0);
      assert_false(line_in(&field, &areas[i]));
      assert_true(areas[i].left >= 0.0 && areas[i].left + areas[i].width <= x + 1e-9);
      on_other_side += (areas[i].top < pieces[i].y0) != above;
      for (size_t k = 0; k < i; ++k) {
        assert_false(sr_area_meets(&areas[k], &areas[i], 0.5));
      }
      assert_false(sr_label_is_free(&field, &areas[i]));
    }
  }
  assert_true(on_other_side > 0);
}

/// Alone, words touch the line's edge and begin where they were asked to.
static void
alone_it_is_near(void** const state)
{
  (void)state;
  const SrBellowsPiece piece = {0.0, 40.0, 100.0, 20.0, true, true};
  SrArea taken[4];
  SrLabelField field = {
      .pieces = &piece, .piece_count = 1, .half = 5.0, .right = 100.0, .taken = taken, .room = 4};
  double moved = 0.0;
  const SrArea above = sr_label_place(&field, 50.0, 10.0, 8.0, true, &moved);
  // The line is at 28 where the words end.
  assert_true(fabs(above.top - (28.0 - 5.0 - 8.0)) < 1e-9);
  assert_true(fabs(above.left - 50.0) < 1e-9);
  const SrArea below = sr_label_place(&field, 50.0, 10.0, 8.0, false, &moved);
  assert_true(fabs(below.top - (30.0 + 5.0)) < 1e-9);
  assert_true(moved < 1e-9);
  const SrArea far = {0.0, 70.0, 10.0, 10.0};
  assert_true(sr_label_is_free(&field, &far));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_overlaps),
      cmocka_unit_test(alone_it_is_near),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
