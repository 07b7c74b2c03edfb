// SPDX-License-Identifier: GPL-3.0-or-later

// Where the bellows line runs, without any drawing.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_sheet.h"

#include "show/bellows_geometry.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void
assert_close(const double one, const double two)
{
  if (!(fabs(one - two) < 1e-6)) {
    print_error("%.9f is not %.9f\n", one, two);
    fail();
  }
}

static void
make_case(const char* const name, MadeSheet* const made)
{
  for (size_t i = 0; i < sheet_case_count; ++i) {
    if (!strcmp(sheet_cases[i].name, name)) {
      assert_true(made_sheet_make(&sheet_cases[i].order, made));
      return;
    }
  }
  fail();
}

static void
ceiling_and_floor(void** const state)
{
  (void)state;
  const SrBellowsBox box = {
      .area = {10.0, 100.0, 400.0, 80.0}, .pad = 5.0, .from = 2.0, .per_time = 100.0};
  assert_close(sr_bellows_y(&box, 1.0), 105.0);
  assert_close(sr_bellows_y(&box, 0.0), 175.0);
  assert_close(sr_bellows_y(&box, 0.5), 140.0);
  assert_close(sr_bellows_y(&box, -3.0), 175.0);
  assert_close(sr_bellows_y(&box, 3.0), 105.0);
  assert_close(sr_bellows_x(&box, 2.0), 10.0);
  assert_close(sr_bellows_x(&box, 3.5), 160.0);
}

/// Every stroke of every case: up on a draw, down on a press, inside of the box, to the right; and
/// its pieces on several lines make up the whole.
static void
strokes_climb_and_fall(void** const state)
{
  (void)state;
  size_t climbed = 0;
  size_t fell = 0;
  size_t parted = 0;
  for (size_t i = 0; i < sheet_case_count; ++i) {
    MadeSheet made;
    assert_true(made_sheet_make(&sheet_cases[i].order, &made));
    const SrDrawnPhrase* const phrase = &made.content.phrase;
    if (!phrase->bar_count) {
      made_sheet_clear(&made);
      continue;
    }
    SrBellowsSystem* systems = NULL;
    size_t count = 0;
    assert_int_equal(sr_bellows_systems(phrase, 3, &systems, &count), SR_OK);
    double* const drawn = calloc(phrase->stroke_count, sizeof(double));
    double* const last_y = calloc(phrase->stroke_count, sizeof(double));
    assert_non_null(drawn);
    assert_non_null(last_y);
    for (size_t k = 0; k < count; ++k) {
      const SrBellowsBox box = {
          .area = {20.0, 50.0, (systems[k].to - systems[k].from) * 90.0, 110.0},
          .pad = 4.0,
          .from = systems[k].from,
          .per_time = 90.0};
      for (size_t n = 0; n < phrase->stroke_count; ++n) {
        const SrDrawnStroke* const stroke = &phrase->strokes[n];
        SrBellowsPiece piece;
        const bool there = sr_bellows_piece(&box, stroke, systems[k].from, systems[k].to, &piece);
        const bool reported =
            n >= systems[k].first_stroke && n < systems[k].first_stroke + systems[k].stroke_count;
        assert_int_equal(there, reported);
        if (!there) {
          continue;
        }
        assert_true(piece.x1 > piece.x0);
        assert_true(piece.x0 >= 20.0 - 1e-6 && piece.x1 <= 20.0 + box.area.width + 1e-6);
        assert_true(fmin(piece.y0, piece.y1) >= 54.0 - 1e-6);
        assert_true(fmax(piece.y0, piece.y1) <= 156.0 + 1e-6);
        if (stroke->after > stroke->before) {
          assert_true(stroke->draw && piece.y1 < piece.y0);
          ++climbed;
        } else if (stroke->after < stroke->before) {
          assert_true(!stroke->draw && piece.y1 > piece.y0);
          ++fell;
        }
        assert_int_equal(piece.begins, drawn[n] < 1e-9);
        if (!piece.begins) {
          assert_close(piece.y0, last_y[n]);
          ++parted;
        }
        drawn[n] += piece.x1 - piece.x0;
        last_y[n] = piece.y1;
        assert_int_equal(piece.ends, fabs(drawn[n] - 90.0 * stroke->length) < 1e-6);
      }
    }
    for (size_t n = 0; n < phrase->stroke_count; ++n) {
      assert_close(drawn[n], 90.0 * phrase->strokes[n].length);
    }
    free(drawn);
    free(last_y);
    free(systems);
    made_sheet_clear(&made);
  }
  assert_true(climbed > 100 && fell > 100);
  assert_true(parted > 0);
}

/// No gap between lines, and bars whole where there are bar lines.
static void
lines_break_at_bars(void** const state)
{
  (void)state;
  MadeSheet made;
  make_case("long", &made);
  const SrDrawnPhrase* const phrase = &made.content.phrase;
  assert_int_equal(phrase->bar_count, 64);
  for (size_t bars = 1; bars <= 8; ++bars) {
    SrBellowsSystem* systems = NULL;
    size_t count = 0;
    assert_int_equal(sr_bellows_systems(phrase, bars, &systems, &count), SR_OK);
    assert_int_equal(count, (64 + bars - 1) / bars);
    double at = 0.0;
    size_t bar = 0;
    for (size_t i = 0; i < count; ++i) {
      assert_close(systems[i].from, at);
      assert_int_equal(systems[i].first_bar, bar);
      assert_close(systems[i].from, phrase->bars[bar].start);
      at = systems[i].to;
      bar += systems[i].bar_count;
    }
    assert_int_equal(bar, 64);
    assert_close(at, 64 * 0.75);
    free(systems);
  }
  made_sheet_clear(&made);
}

static void
a_pickup_is_no_bar(void** const state)
{
  (void)state;
  MadeSheet made;
  make_case("reel", &made);
  SrBellowsSystem* systems = NULL;
  size_t count = 0;
  assert_int_equal(sr_bellows_systems(&made.content.phrase, 4, &systems, &count), SR_OK);
  assert_int_equal(count, 1);
  assert_int_equal(systems[0].bar_count, 5);
  free(systems);
  assert_int_equal(sr_bellows_systems(&made.content.phrase, 2, &systems, &count), SR_OK);
  assert_int_equal(count, 2);
  assert_int_equal(systems[0].bar_count, 3);
  assert_close(systems[1].from, 2.25);
  free(systems);
  made_sheet_clear(&made);
}

/// Music without bar lines is broken before notes, and no line holds very many.
static void
no_bar_lines(void** const state)
{
  (void)state;
  MadeSheet made;
  make_case("no-bars", &made);
  const SrDrawnPhrase* const phrase = &made.content.phrase;
  assert_int_equal(phrase->bar_count, 1);
  SrBellowsSystem* systems = NULL;
  size_t count = 0;
  assert_int_equal(sr_bellows_systems(phrase, 2, &systems, &count), SR_OK);
  assert_true(count > 3);
  for (size_t i = 0; i < count; ++i) {
    assert_true(systems[i].stroke_count <= 24);
    assert_int_equal(systems[i].bar_count, 1);
    if (i) {
      assert_close(systems[i].from, systems[i - 1].to);
      assert_close(systems[i].from, phrase->strokes[systems[i].first_stroke].start);
    }
  }
  free(systems);
  made_sheet_clear(&made);
}

/// A note longer than any line still ends.
static void
one_endless_note(void** const state)
{
  (void)state;
  const SrDrawnStroke strokes[3] = {
      {.start = 0.0, .length = 0.25, .before = 0.5, .after = 0.6, .draw = true},
      {.start = 0.25, .length = 400.0, .before = 0.6, .after = 0.9, .draw = true},
      {.start = 400.25, .length = 0.25, .before = 0.9, .after = 0.8}};
  const SrDrawnBar bar = {0.0, 400.5, 1};
  const SrDrawnPhrase phrase = {strokes, 3, &bar, 1};
  SrBellowsSystem* systems = NULL;
  size_t count = 0;
  assert_int_equal(sr_bellows_systems(&phrase, 4, &systems, &count), SR_OK);
  assert_true(count > 10 && count < 1000);
  assert_close(systems[count - 1].to, 400.5);
  free(systems);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ceiling_and_floor),   cmocka_unit_test(strokes_climb_and_fall),
      cmocka_unit_test(lines_break_at_bars), cmocka_unit_test(a_pickup_is_no_bar),
      cmocka_unit_test(no_bar_lines),        cmocka_unit_test(one_endless_note),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
