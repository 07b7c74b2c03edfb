// SPDX-License-Identifier: GPL-3.0-or-later

// A stroke's pixels: what shows where.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "show/draw_stroke.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SIDE 120
#define SCALE 4.0

/// Draw a stroke from 10, 60 to 110, 50 or 70; the surface.
static cairo_surface_t*
draw(const SrDrawnStroke* const stroke)
{
  cairo_surface_t* const surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(SIDE * SCALE), (int)(SIDE * SCALE));
  cairo_t* const cairo = cairo_create(surface);
  cairo_scale(cairo, SCALE, SCALE);
  cairo_set_source_rgb(cairo, 1.0, 1.0, 1.0);
  cairo_paint(cairo);
  SrPen pen;
  assert_true(sr_pen_begin(&pen, cairo));
  const SrBellowsPiece piece = {10.0, 60.0, 110.0, stroke->draw ? 50.0 : 70.0, true, true};
  sr_draw_stroke(&pen, stroke, &piece, 1.0);
  if (stroke->turns) {
    sr_draw_turn(&pen, piece.x0, piece.y0, 1.0);
  }
  sr_pen_end(&pen);
  cairo_destroy(cairo);
  cairo_surface_flush(surface);
  return surface;
}

static uint32_t
pixel(cairo_surface_t* const surface, const double x, const double y)
{
  const unsigned char* const data = cairo_image_surface_get_data(surface);
  const int stride = cairo_image_surface_get_stride(surface);
  uint32_t value = 0;
  memcpy(&value, data + (size_t)(y * SCALE) * (size_t)stride + 4 * (size_t)(x * SCALE), 4);
  return value & 0xFFFFFFu;
}

// As published by Okabe and Ito (2008), from memory.
#define ORANGE 0xE69F00u
#define BLUE 0x0072B2u
#define WHITE 0xFFFFFFu
#define BLACK 0x000000u

static void
colours_and_slope(void** const state)
{
  (void)state;
  for (int direction = 0; direction < 2; ++direction) {
    const SrDrawnStroke stroke = {.draw = direction};
    cairo_surface_t* const surface = draw(&stroke);
    const uint32_t colour = direction ? BLUE : ORANGE;
    const double end = direction ? 50.5 : 69.5;
    assert_int_equal(pixel(surface, 60.0, direction ? 55.0 : 65.0), colour);
    assert_int_equal(pixel(surface, 105.0, end), colour);
    assert_int_equal(pixel(surface, 105.0, 120.0 - end), WHITE);
    // The triangle: of the paper on the dark line, of ink on the light one.
    assert_int_equal(pixel(surface, 14.6, direction ? 59.5 : 60.3), direction ? WHITE : BLACK);
    cairo_surface_destroy(surface);
  }
}

static void
cut_is_a_tick(void** const state)
{
  (void)state;
  const SrDrawnCut cuts[] = {SR_DRAWN_NO_CUT, SR_DRAWN_CUT, SR_DRAWN_CUT_LEFT_OUT};
  // Over the line, where only a tick reaches.
  const uint32_t edges[] = {WHITE, BLACK, WHITE};
  for (size_t i = 0; i < 3; ++i) {
    const SrDrawnStroke stroke = {.cut = cuts[i]};
    cairo_surface_t* const surface = draw(&stroke);
    assert_int_equal(pixel(surface, 12.8, 54.5), edges[i]);
    // Left out: open, so white inside of the line too.
    const uint32_t inside = pixel(surface, 12.8, 60.2);
    assert_int_equal(inside, i == 0 ? ORANGE : i == 1 ? BLACK : WHITE);
    cairo_surface_destroy(surface);
  }
}

static void
air_is_a_gap(void** const state)
{
  (void)state;
  for (int air = 0; air < 2; ++air) {
    const SrDrawnStroke stroke = {.air = air, .draw = true};
    cairo_surface_t* const surface = draw(&stroke);
    assert_int_equal(pixel(surface, 60.0, 55.0), air ? WHITE : BLUE);
    // The line goes on over the gap and under it.
    assert_int_equal(pixel(surface, 60.0, 55.0 - 3.4), BLUE);
    assert_int_equal(pixel(surface, 60.0, 55.0 + 3.4), BLUE);
    cairo_surface_destroy(surface);
  }
}

static void
turn_is_a_mark(void** const state)
{
  (void)state;
  for (int turns = 0; turns < 2; ++turns) {
    const SrDrawnStroke stroke = {.turns = turns};
    cairo_surface_t* const surface = draw(&stroke);
    assert_int_equal(pixel(surface, 11.5, 60.2), turns ? WHITE : ORANGE);
    cairo_surface_destroy(surface);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(colours_and_slope),
      cmocka_unit_test(cut_is_a_tick),
      cmocka_unit_test(air_is_a_gap),
      cmocka_unit_test(turn_is_a_mark),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
