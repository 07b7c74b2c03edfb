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
      .area = {10.0, 100.0, 400.0, 80.0}, .pad = 5.0, .high = 1.0, .from = 2.0, .per_time = 100.0};
  assert_close(sr_bellows_y(&box, 1.0), 105.0);
  assert_close(sr_bellows_y(&box, 0.0), 175.0);
  assert_close(sr_bellows_y(&box, 0.5), 140.0);
  assert_close(sr_bellows_y(&box, -3.0), 175.0);
  assert_close(sr_bellows_y(&box, 3.0), 105.0);
  assert_close(sr_bellows_x(&box, 2.0), 10.0);
  assert_close(sr_bellows_x(&box, 3.5), 160.0);
  SrBellowsBox part = box;
  part.low = 0.4;
  part.high = 0.6;
  assert_close(sr_bellows_y(&part, 0.6), 105.0);
  assert_close(sr_bellows_y(&part, 0.4), 175.0);
  assert_close(sr_bellows_y(&part, 0.45), 157.5);
  assert_close(sr_bellows_y(&part, 0.9), 105.0);
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
    assert_int_equal(sr_bellows_systems(phrase, 3, SR_REFER_REPEATS, &systems, &count), SR_OK);
    double* const drawn = calloc(phrase->stroke_count, sizeof(double));
    double* const last_y = calloc(phrase->stroke_count, sizeof(double));
    assert_non_null(drawn);
    assert_non_null(last_y);
    for (size_t k = 0; k < count; ++k) {
      const SrBellowsBox box = {
          .area = {20.0, 50.0, (systems[k].to - systems[k].from) * 90.0, 110.0},
          .pad = 4.0,
          .low = systems[k].low,
          .high = systems[k].high,
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
    assert_int_equal(sr_bellows_systems(phrase, bars, SR_REFER_REPEATS, &systems, &count), SR_OK);
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
  assert_int_equal(sr_bellows_systems(&made.content.phrase, 4, SR_REFER_REPEATS, &systems, &count),
                   SR_OK);
  assert_int_equal(count, 1);
  assert_int_equal(systems[0].bar_count, 5);
  free(systems);
  assert_int_equal(sr_bellows_systems(&made.content.phrase, 2, SR_REFER_REPEATS, &systems, &count),
                   SR_OK);
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
  assert_int_equal(sr_bellows_systems(phrase, 2, SR_REFER_REPEATS, &systems, &count), SR_OK);
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
  const SrDrawnBar bar = {.length = 400.5, .number = 1, .like = SR_DRAWN_LIKE_NONE};
  const SrDrawnPart part = {"", 0, 1};
  const SrDrawnPhrase phrase = {strokes, 3, &bar, 1, &part, 1};
  SrBellowsSystem* systems = NULL;
  size_t count = 0;
  assert_int_equal(sr_bellows_systems(&phrase, 4, SR_REFER_REPEATS, &systems, &count), SR_OK);
  assert_true(count > 10 && count < 1000);
  assert_close(systems[count - 1].to, 400.5);
  free(systems);
}

#define BARS 12

/// Twelve bars of one note each, in parts of four and eight; bars 3, 7, 8 and 11 are as earlier
/// ones.
static void
make_parts(SrDrawnStroke strokes[BARS], SrDrawnBar bars[BARS], SrDrawnPart parts[2],
           SrDrawnPhrase* const phrase)
{
  for (size_t i = 0; i < BARS; ++i) {
    const SrDrawnStroke stroke = {.start = (double)i,
                                  .length = 1.0,
                                  .before = 0.4 + 0.01 * (double)i,
                                  .after = 0.41 + 0.01 * (double)i,
                                  .draw = true};
    const SrDrawnBar bar = {.start = (double)i,
                            .length = 1.0,
                            .number = (int)i + 1,
                            .like = i == 2    ? 0
                                    : i == 6  ? 0
                                    : i == 7  ? 1
                                    : i == 10 ? 3
                                              : SR_DRAWN_LIKE_NONE};
    strokes[i] = stroke;
    bars[i] = bar;
  }
  const SrDrawnPart made[2] = {{"one", 0, 4}, {"two", 4, 8}};
  memcpy(parts, made, sizeof(made));
  const SrDrawnPhrase whole = {strokes, BARS, bars, BARS, parts, 2};
  *phrase = whole;
}

/// Parts begin lines; bars that are the same are named instead, more or fewer of them.
static void
parts_and_references(void** const state)
{
  (void)state;
  static const struct {
    SrRefer refer;
    size_t first_bars[12];
    size_t likes[12];
    size_t count;
  } CASES[] = {
      {SR_REFER_REPEATS, {0, 3, 4, 7, 10}, {99, 99, 99, 99, 99}, 5},
      {SR_REFER_SEVERAL, {0, 3, 4, 6, 8, 11}, {99, 99, 99, 0, 99, 99}, 6},
      {SR_REFER_ALL, {0, 2, 3, 4, 6, 8, 11}, {99, 0, 99, 99, 0, 99, 99}, 7},
  };
  SrDrawnStroke strokes[BARS];
  SrDrawnBar bars[BARS];
  SrDrawnPart parts[2];
  SrDrawnPhrase phrase;
  make_parts(strokes, bars, parts, &phrase);
  for (size_t c = 0; c < sizeof(CASES) / sizeof(CASES[0]); ++c) {
    SrBellowsSystem* systems = NULL;
    size_t count = 0;
    assert_int_equal(sr_bellows_systems(&phrase, 3, CASES[c].refer, &systems, &count), SR_OK);
    assert_int_equal(count, CASES[c].count);
    for (size_t i = 0; i < count; ++i) {
      assert_int_equal(systems[i].first_bar, CASES[c].first_bars[i]);
      assert_int_equal(systems[i].like,
                       CASES[c].likes[i] == 99 ? SR_BELLOWS_NONE : CASES[c].likes[i]);
      assert_int_equal(systems[i].part, systems[i].first_bar == 0   ? 0
                                        : systems[i].first_bar == 4 ? 1
                                                                    : SR_BELLOWS_NONE);
      assert_int_equal(systems[i].stroke_count,
                       systems[i].like == SR_BELLOWS_NONE ? systems[i].bar_count : 0);
    }
    free(systems);
  }
}

/// Three bars and more that are played again with their numbers are always only named.
static void
a_repeat_is_named(void** const state)
{
  (void)state;
  SrDrawnStroke strokes[BARS];
  SrDrawnBar bars[BARS];
  SrDrawnPart parts[2];
  SrDrawnPhrase phrase;
  make_parts(strokes, bars, parts, &phrase);
  for (size_t length = 2; length <= 3; ++length) {
    for (size_t i = 4; i < BARS; ++i) {
      bars[i].like = i >= 5 && i < 5 + length ? i - 4 : SR_DRAWN_LIKE_NONE;
      bars[i].number = i >= 5 && i < 8 ? (int)i - 3 : (int)i + 1;
    }
    SrBellowsSystem* systems = NULL;
    size_t count = 0;
    assert_int_equal(sr_bellows_systems(&phrase, 4, SR_REFER_REPEATS, &systems, &count), SR_OK);
    assert_int_equal(count, length == 3 ? 4 : 3);
    assert_int_equal(systems[2].like, length == 3 ? 1 : SR_BELLOWS_NONE);
    assert_int_equal(systems[2].first_bar, length == 3 ? 5 : 8);
    free(systems);
  }
}

/// All lines show equally much of the bellows, with every note inside, and no more than is needed;
/// an end that is near is shown.
static void
lines_are_zoomed(void** const state)
{
  (void)state;
  SrDrawnStroke strokes[BARS];
  SrDrawnBar bars[BARS];
  SrDrawnPart parts[2];
  SrDrawnPhrase phrase;
  make_parts(strokes, bars, parts, &phrase);
  for (int near = -1; near <= 1; ++near) {
    // The last line near to shut, in the middle, or near to full
    strokes[BARS - 1].before = near < 0 ? 0.12 : near > 0 ? 0.85 : 0.52;
    strokes[BARS - 1].after = near < 0 ? 0.14 : near > 0 ? 0.87 : 0.54;
    SrBellowsSystem* systems = NULL;
    size_t count = 0;
    assert_int_equal(sr_bellows_systems(&phrase, 4, SR_REFER_REPEATS, &systems, &count), SR_OK);
    assert_int_equal(count, 3);
    for (size_t i = 0; i < count; ++i) {
      assert_close(systems[i].high - systems[i].low, systems[0].high - systems[0].low);
      for (size_t k = 0; k < systems[i].stroke_count; ++k) {
        const SrDrawnStroke* const stroke = &strokes[systems[i].first_stroke + k];
        assert_true(systems[i].low <= fmin(stroke->before, stroke->after));
        assert_true(systems[i].high >= fmax(stroke->before, stroke->after));
      }
    }
    const double span = systems[0].high - systems[0].low;
    if (near == 0) {
      assert_true(span < 0.2);
      assert_true(systems[2].low > 0.0 && systems[2].high < 1.0);
    } else {
      assert_true(span > 0.5 && span < 0.61);
      assert_close(near < 0 ? systems[2].low : systems[2].high, near < 0 ? 0.0 : 1.0);
    }
    free(systems);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ceiling_and_floor),    cmocka_unit_test(strokes_climb_and_fall),
      cmocka_unit_test(lines_break_at_bars),  cmocka_unit_test(a_pickup_is_no_bar),
      cmocka_unit_test(no_bar_lines),         cmocka_unit_test(one_endless_note),
      cmocka_unit_test(parts_and_references), cmocka_unit_test(lines_are_zoomed),
      cmocka_unit_test(a_repeat_is_named),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
