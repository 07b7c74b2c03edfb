// SPDX-License-Identifier: GPL-3.0-or-later

// How much of a button's half is coloured: all of it for notes, stripes for cuts only, else
// nothing.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "show/draw_layout.h"

#include <string.h>

#define SCALE 4
#define SIDE 800

/// Share of pixels of a colour in the outer part of a half, between its letters and its edge.
static double
share_of(const SrDrawnButton* const button, const bool draw, const uint32_t colour)
{
  const SrDrawnLayout layout = {.buttons = button, .count = 1, .straight = true};
  SrLayoutPlaces places;
  assert_int_equal(sr_layout_places(&layout, 190.0, 190.0, 100.0, &places), SR_OK);
  cairo_surface_t* const surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, SIDE, SIDE);
  cairo_t* const cairo = cairo_create(surface);
  cairo_scale(cairo, SCALE, SCALE);
  SrPen pen;
  assert_true(sr_pen_begin(&pen, cairo));
  sr_draw_layout(&pen, &layout, &places, 0.0, 0.0);
  sr_pen_end(&pen);
  cairo_destroy(cairo);
  cairo_surface_flush(surface);
  const unsigned char* const data = cairo_image_surface_get_data(surface);
  const size_t stride = (size_t)cairo_image_surface_get_stride(surface);
  size_t found = 0;
  size_t all = 0;
  // A band near to the middle line, below or above the letters
  const double from = 0.1 * places.radius;
  for (double down = from; down < 0.16 * places.radius; down += 0.5 / SCALE) {
    for (double x = -0.8 * places.radius; x < 0.8 * places.radius; x += 0.5 / SCALE) {
      const double y = places.places[0].y + (draw ? -down : down);
      const size_t row = (size_t)(y * SCALE);
      const size_t column = (size_t)((places.places[0].x + x) * SCALE);
      uint32_t pixel = 0;
      memcpy(&pixel, data + row * stride + 4 * column, 4);
      found += (pixel & 0xFFFFFFu) == colour;
      ++all;
    }
  }
  cairo_surface_destroy(surface);
  sr_layout_places_clear(&places);
  return (double)found / (double)all;
}

static void
cuts_are_striped(void** const state)
{
  (void)state;
  for (int direction = 0; direction < 2; ++direction) {
    const bool draw = direction;
    // As published by Okabe and Ito (2008), from memory: blue, orange
    const uint32_t colour = draw ? 0x0072B2u : 0xE69F00u;
    const SrDrawnButton unused = {
        .row = 1, .column = 1, .finger = SR_FINGER_INDEX, .name = "L1-1", .press = "", .draw = ""};
    SrDrawnButton cuts = unused;
    cuts.cuts_draw = draw;
    cuts.cuts_press = !draw;
    SrDrawnButton plays = cuts; // a note and a cut: as a note
    plays.uses_draw = draw;
    plays.uses_press = !draw;
    assert_true(share_of(&unused, draw, colour) <= 0.0);
    const double striped = share_of(&cuts, draw, colour);
    assert_true(striped > 0.15 && striped < 0.6);
    assert_true(share_of(&plays, draw, colour) > 0.9);
    // The other half stays as it is
    assert_true(share_of(&cuts, !draw, draw ? 0xE69F00u : 0x0072B2u) <= 0.0);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cuts_are_striped),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
