// SPDX-License-Identifier: GPL-3.0-or-later

// Where the buttons lie, without any drawing.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_sheet.h"

#include "show/layout_geometry.h"

#include <math.h>

#define WIDTH 700.0
#define HEIGHT 400.0

static void
make(const unsigned buttons, const bool straight, MadeSheet* const made,
     SrLayoutPlaces* const places)
{
  const SheetOrder order = {.buttons = buttons, .straight = straight, .alone = true};
  assert_true(made_sheet_make(&order, made));
  assert_int_equal(sr_layout_places(&made->content.layout, WIDTH, HEIGHT, 1000.0, places), SR_OK);
}

static bool
is_inside(const SrArea* const area, const double x, const double y, const double around)
{
  return x - around >= area->left && x + around <= area->left + area->width &&
         y - around >= area->top && y + around <= area->top + area->height;
}

static void
nothing_overlaps(void** const state)
{
  (void)state;
  static const unsigned COUNTS[] = {20, 30, 38, 96};
  for (size_t c = 0; c < 8; ++c) {
    MadeSheet made;
    SrLayoutPlaces places;
    make(COUNTS[c / 2], c % 2, &made, &places);
    const SrDrawnLayout* const layout = &made.content.layout;
    assert_int_equal(layout->count, COUNTS[c / 2]);
    assert_true(places.width <= WIDTH + 1e-6 && places.height <= HEIGHT + 1e-6);
    for (size_t i = 0; i < layout->count; ++i) {
      const SrButtonPlace* const place = &places.places[i];
      assert_true(is_inside(&places.hands[layout->buttons[i].hand].area, place->x, place->y,
                            places.radius));
      for (size_t k = 0; k < i; ++k) {
        const double apart = hypot(place->x - places.places[k].x, place->y - places.places[k].y);
        assert_true(apart > 2.1 * places.radius);
      }
      const double dx =
          fmax(fabs(place->x - (places.air.left + places.air.width / 2.0)) - places.air.width / 2.0,
               0.0);
      const double dy = fmax(fabs(place->y - (places.air.top + places.air.height / 2.0)) -
                                 places.air.height / 2.0,
                             0.0);
      assert_true(hypot(dx, dy) > places.radius);
    }
    const SrArea* const right = &places.hands[SR_HAND_RIGHT].area;
    const SrArea* const left = &places.hands[SR_HAND_LEFT].area;
    assert_true(left->left + left->width < right->left);
    assert_true(right->left + right->width <= WIDTH + 1e-6);
    assert_true(is_inside(right, places.air.left, places.air.top, 0.0));
    assert_true(is_inside(right, places.air.left + places.air.width,
                          places.air.top + places.air.height, 0.0));
    sr_layout_places_clear(&places);
    made_sheet_clear(&made);
  }
}

/// Looking down on the box: row 1 nearest to the player, columns to the right; the index fingers
/// further from the palm than the little ones, unless the rows are straight.
static void
as_the_player_sees_it(void** const state)
{
  (void)state;
  for (int straight = 0; straight < 2; ++straight) {
    MadeSheet made;
    SrLayoutPlaces places;
    make(30, straight, &made, &places);
    const SrDrawnLayout* const layout = &made.content.layout;
    size_t pairs = 0;
    for (size_t i = 0; i < layout->count; ++i) {
      for (size_t k = 0; k < layout->count; ++k) {
        const SrDrawnButton* const one = &layout->buttons[i];
        const SrDrawnButton* const two = &layout->buttons[k];
        const SrButtonPlace* const a = &places.places[i];
        const SrButtonPlace* const b = &places.places[k];
        if (one->hand != two->hand) {
          continue;
        }
        if (one->row == two->row && one->column < two->column) {
          assert_true(a->x < b->x);
          const double lower = one->hand == SR_HAND_LEFT ? a->y - b->y : b->y - a->y;
          assert_true(straight ? fabs(lower) < 1e-9 : lower > 0.0);
          ++pairs;
        }
        if (one->column == two->column && one->row < two->row) {
          assert_true(a->y > b->y);
          ++pairs;
        }
      }
    }
    assert_int_equal(pairs, 2 * (3 * 10 + 5 * 3));
    sr_layout_places_clear(&places);
    made_sheet_clear(&made);
  }
}

/// The words over a hand tell each finger, and buttons that differ tell their own.
static void
fingers_are_reported(void** const state)
{
  (void)state;
  MadeSheet made;
  SrLayoutPlaces places;
  make(30, false, &made, &places);
  // The last button of the left hand's accidental row is moved to the thumb.
  made.buttons[14].finger = SR_FINGER_THUMB;
  sr_layout_places_clear(&places);
  assert_int_equal(sr_layout_places(&made.content.layout, WIDTH, HEIGHT, 1000.0, &places), SR_OK);
  static const SrFinger LEFT[] = {SR_FINGER_LITTLE, SR_FINGER_RING, SR_FINGER_MIDDLE,
                                  SR_FINGER_INDEX};
  assert_int_equal(places.hands[SR_HAND_LEFT].finger_count, 4);
  assert_int_equal(places.hands[SR_HAND_RIGHT].finger_count, 4);
  for (size_t i = 0; i < 4; ++i) {
    assert_int_equal(places.hands[SR_HAND_LEFT].fingers[i].finger, LEFT[i]);
    assert_int_equal(places.hands[SR_HAND_RIGHT].fingers[i].finger, LEFT[3 - i]);
  }
  for (size_t i = 0; i < made.content.layout.count; ++i) {
    assert_int_equal(places.places[i].own_finger, i == 14);
  }
  sr_layout_places_clear(&places);
  made_sheet_clear(&made);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_overlaps),
      cmocka_unit_test(as_the_player_sees_it),
      cmocka_unit_test(fingers_are_reported),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
