// SPDX-License-Identifier: GPL-3.0-or-later

// A round as it is drawn: each outcome has a shape of its own, all words have room, at any size.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_round.h"
#include "talk.h"

#include "show/round_layout.h"

#include <steadyreed/plan_wish.h>

#include <cairo-svg.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH 700.0
#define HEIGHT 240.0
/// A note with a cut before it, on the same pitch as the one before, and one without.
#define CUT_NOTE 4
/// What an SVG calls the colour of faults.
#define FAULT_COLOUR "rgb(83."

static MadeRound made;
static SrInstrument* instrument;
static char layout_path[1024];

/// Lay the first round out.
static SrRoundPicture*
picture_of(const SrPlan* const plan, const SrRoundStyle* const style, const size_t reached,
           const double width, const double height)
{
  const SrPicturedRound pictured = {.phrase = made.phrase,
                                    .round = &made.rounds[0],
                                    .reached = reached,
                                    .plan = plan,
                                    .instrument = plan ? instrument : NULL};
  SrRoundPicture* picture = NULL;
  assert_int_equal(sr_round_picture_new(&pictured, style, width, height, &picture, NULL), SR_OK);
  return picture;
}

// As SVG -----------------------------------------------------------------------------------------

/// A growing text.
typedef struct {
  char* text;
  size_t size;
} Text;

static cairo_status_t
take_text(void* const closure, const unsigned char* const data, const unsigned length)
{
  Text* const text = closure;
  text->text = realloc(text->text, text->size + length + 1);
  assert_non_null(text->text);
  memcpy(text->text + text->size, data, length);
  text->size += length;
  text->text[text->size] = '\0';
  return CAIRO_STATUS_SUCCESS;
}

static char*
svg_of(const SrRoundPicture* const picture)
{
  Text text = {NULL, 0};
  cairo_surface_t* const surface =
      cairo_svg_surface_create_for_stream(take_text, &text, WIDTH, HEIGHT);
  cairo_t* const cairo = cairo_create(surface);
  assert_int_equal(sr_round_picture_draw(picture, cairo, 0.0, 0.0), SR_OK);
  cairo_destroy(cairo);
  cairo_surface_finish(surface);
  cairo_surface_destroy(surface);
  assert_non_null(text.text);
  return text.text;
}

/// Elements of an SVG that have all of some words.
static size_t
count_elements(const char* const svg, const char* const one, const char* const other)
{
  size_t count = 0;
  for (const char* at = strchr(svg, '<'); at; at = strchr(at + 1, '<')) {
    const size_t length = strcspn(at, ">");
    char* const element = strndup(at, length);
    assert_non_null(element);
    count += strstr(element, one) && strstr(element, other) ? 1 : 0;
    free(element);
  }
  return count;
}

static char*
svg_with(const Outcome outcome, const size_t note)
{
  made_round_make(&made, made_jig, 1);
  made_round_put(&made, 0, note, outcome);
  const SrRoundStyle style = {.no_offsets = true};
  SrRoundPicture* const picture = picture_of(NULL, &style, SR_REACHED_ALL, WIDTH, HEIGHT);
  char* const svg = svg_of(picture);
  sr_round_picture_del(picture);
  made_round_clear(&made);
  return svg;
}

static void
a_clean_round_has_no_sign_of_a_fault(void** const state)
{
  (void)state;
  char* const svg = svg_with(OUTCOME_CLEAN, 0);
  assert_int_equal(count_elements(svg, FAULT_COLOUR, ""), 0);
  assert_int_equal(count_elements(svg, "stroke-dasharray", ""), 0);
  free(svg);
}

static void
each_fault_has_its_sign(void** const state)
{
  (void)state;
  static const struct {
    Outcome outcome;
    const char* sign; ///< In an element of the colour of faults
    size_t times;
  } SIGNS[] = {
      {OUTCOME_MISSED, "stroke-dasharray", 1},
      {OUTCOME_JOINED, "stroke-linecap=\"round\"", 1},
      {OUTCOME_WRONG, "stroke-linecap=\"round\"", 1},
  };
  for (size_t i = 0; i < sizeof(SIGNS) / sizeof(SIGNS[0]); ++i) {
    char* const svg = svg_with(SIGNS[i].outcome, CUT_NOTE);
    const bool attribute = strstr(svg, "stroke-linecap=\"") != NULL;
    const char* const sign = attribute || strncmp(SIGNS[i].sign, "stroke-l", 8) != 0
                                 ? SIGNS[i].sign
                                 : "stroke-linecap:round";
    assert_int_equal(count_elements(svg, FAULT_COLOUR, sign), SIGNS[i].times);
    free(svg);
  }
}

/// One colour for all faults: with each of them, and a line under the name of its note.
static void
each_fault_has_the_colour(void** const state)
{
  (void)state;
  for (int outcome = 1; outcome < OUTCOME_COUNT; ++outcome) {
    char* const svg = svg_with((Outcome)outcome, CUT_NOTE);
    const size_t signs = count_elements(svg, FAULT_COLOUR, "");
    const bool fault = outcome != OUTCOME_UNHEARD;
    assert_int_equal(signs > 0, fault);
    free(svg);
  }
}

// By shape alone ---------------------------------------------------------------------------------

/// What of an area is covered by a picture, without its colours; the rest is zero.
static unsigned char*
shape_of(const SrRoundPicture* const picture, const SrArea* const area, size_t* const size)
{
  const int width = (int)WIDTH;
  const int height = (int)HEIGHT;
  cairo_surface_t* const surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height);
  cairo_t* const cairo = cairo_create(surface);
  cairo_rectangle(cairo, area->left, area->top, area->width, area->height);
  cairo_clip(cairo);
  assert_int_equal(sr_round_picture_draw(picture, cairo, 0.0, 0.0), SR_OK);
  cairo_destroy(cairo);
  cairo_surface_flush(surface);
  *size = (size_t)width * (size_t)height;
  unsigned char* const shape = malloc(*size);
  assert_non_null(shape);
  const unsigned char* const pixels = cairo_image_surface_get_data(surface);
  const size_t stride = (size_t)cairo_image_surface_get_stride(surface);
  for (size_t i = 0; i < *size; ++i) {
    uint32_t pixel;
    memcpy(&pixel, pixels + i / (size_t)width * stride + 4 * (i % (size_t)width), 4);
    // Paper drawn over something is as light as none
    const unsigned alpha = pixel >> 24;
    const unsigned green = pixel >> 8 & 0xFFu;
    shape[i] = alpha > 127 && green < 205 ? 1 : 0;
  }
  cairo_surface_destroy(surface);
  return shape;
}

/// Where the sign of an outcome is: not its words, nor the line under the note's name.
static SrArea
place_of(const SrRoundPicture* const picture, const int which)
{
  const SrRoundLine line = sr_round_line(picture, NULL, 0, 0.0, 0.0);
  const SrArea* const box = &line.box.area;
  assert_int_equal(picture->system_count, 1);
  if (which < OUTCOME_COUNT) {
    return (SrArea){box->left, box->top, box->width, HEIGHT - box->top};
  }
  const double size = picture->rows.size;
  const double at = sr_bellows_x(&line.box, picture->content.slips[0].at);
  return (SrArea){at, line.top, 0.78 * size, picture->rows.slip};
}

/// An outcome, or after them a break in the flow.
static unsigned char*
shape_with(const int which, size_t* const size)
{
  made_round_make(&made, made_jig, 1);
  if (which < OUTCOME_COUNT) {
    made_round_put(&made, 0, CUT_NOTE, (Outcome)which);
  } else {
    const SrSlipKind kind = (SrSlipKind)(which - OUTCOME_COUNT);
    const bool after = kind == SR_SLIP_STOPPED || kind == SR_SLIP_FALSE_START;
    made_round_slip(&made, 0, kind, after ? CUT_NOTE - 1 : CUT_NOTE); // all in one place
  }
  const SrRoundStyle style = {.no_offsets = which != OUTCOME_LATE};
  SrRoundPicture* const picture = picture_of(NULL, &style, SR_REACHED_ALL, WIDTH, HEIGHT);
  const SrArea area = place_of(picture, which);
  unsigned char* const shape = shape_of(picture, &area, size);
  sr_round_picture_del(picture);
  made_round_clear(&made);
  return shape;
}

static void
outcomes_differ_without_colour(void** const state)
{
  (void)state;
  unsigned char* shapes[OUTCOME_COUNT + 7];
  const int count = OUTCOME_COUNT + 7;
  size_t size = 0;
  for (int i = 0; i < count; ++i) {
    shapes[i] = shape_with(i, &size);
  }
  for (int i = 0; i < count; ++i) {
    for (int k = 0; k < i; ++k) {
      size_t differ = 0;
      for (size_t p = 0; p < size; ++p) {
        differ += shapes[i][p] != shapes[k][p] ? 1 : 0;
      }
      if (differ < 25) {
        print_error("outcomes %d and %d differ in %zu pixels\n", i, k, differ);
        fail();
      }
    }
  }
  for (int i = 0; i < count; ++i) {
    free(shapes[i]);
  }
}

// Words ------------------------------------------------------------------------------------------

static void
hear_picture(const SrRoundPicture* const picture, const double left, const double top,
             Talk* const talk)
{
  memset(talk, 0, sizeof(*talk));
  cairo_surface_t* const surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
  cairo_t* const cairo = cairo_create(surface);
  SrPen pen;
  assert_true(sr_pen_begin(&pen, cairo));
  pen.said = talk_hear;
  pen.said_context = talk;
  sr_round_draw(picture, &pen, left, top);
  sr_pen_end(&pen);
  // Extents are whole numbers, and those of strokes a little large
  double ink_x;
  double ink_y;
  double ink_width;
  double ink_height;
  cairo_recording_surface_ink_extents(surface, &ink_x, &ink_y, &ink_width, &ink_height);
  assert_true(ink_x >= left - 2.0 && ink_y >= top - 2.0);
  assert_true(ink_x + ink_width <= left + picture->width + 2.0);
  assert_true(ink_y + ink_height <= top + sr_round_picture_height(picture) + 2.0);
  cairo_destroy(cairo);
  cairo_surface_destroy(surface);
}

static void
check_words(const SrRoundPicture* const picture)
{
  Talk talk;
  hear_picture(picture, 11.0, 7.0, &talk);
  for (size_t i = 0; i < talk.count; ++i) {
    const SrArea* const one = &talk.said[i].letters;
    for (size_t k = 0; k < i; ++k) {
      if (sr_area_meets(&talk.said[k].letters, one, -0.1)) {
        print_error("“%s” lies on “%s” at %.1f, %.1f, %.0f wide\n", talk.said[i].text,
                    talk.said[k].text, one->left, one->top, picture->width);
        fail();
      }
    }
  }
  talk_clear(&talk);
}

static void
words_have_room_at_any_size(void** const state)
{
  (void)state;
  static const double SIZES[][2] = {{360, 640},   {360, 0},    {360, 200},   {700, 300},
                                    {700, 0},     {1280, 800}, {1920, 0},    {535, 330},
                                    {1920, 1080}, {120, 0},    {3840, 2160}, {535, 90}};
  const char* const tunes[] = {made_jig, made_runs, made_tune};
  for (size_t t = 0; t < 3; ++t) {
    made_round_make(&made, tunes[t], 1);
    made_round_spoil(&made, 0);
    SrPlans* plans = NULL;
    SrWishedPlan wished;
    SrPlanWish wish = sr_plan_wish_default();
    wish.layout = layout_path;
    assert_int_equal(sr_plan_wish_read(&wish, NULL, (double)NAN, made.phrase, &wished, NULL),
                     SR_OK);
    assert_int_equal(sr_plan(made.phrase, wished.instrument, &wished.settings, &plans, NULL),
                     SR_OK);
    for (size_t i = 0; i < 4 * sizeof(SIZES) / sizeof(SIZES[0]); ++i) {
      const double* const size = SIZES[i / 4];
      const SrRoundStyle style = {.dark = i % 2, .no_offsets = false};
      const double height = size[1] > 0.0 ? size[1] : (double)INFINITY;
      SrRoundPicture* const picture = picture_of(i / 2 % 2 ? sr_plans_get(plans, 0) : NULL, &style,
                                                 SR_REACHED_ALL, size[0], height);
      assert_true(sr_round_picture_height(picture) <= height + 1e-6);
      check_words(picture);
      sr_round_picture_del(picture);
    }
    sr_plans_del(plans);
    sr_wished_plan_clear(&wished);
    made_round_clear(&made);
  }
}

static size_t
times_said(const Talk* const talk, const char* const text)
{
  size_t times = 0;
  for (size_t i = 0; i < talk->count; ++i) {
    times += !strcmp(talk->said[i].text, text);
  }
  return times;
}

/// Names of notes, bars, breaks and large offsets are said; eight bars go on a line that is wide.
static void
what_is_said(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 1);
  made_round_put(&made, 0, 9, OUTCOME_LATE);
  made_round_slip(&made, 0, SR_SLIP_HESITATION, 6);
  SrRoundPicture* picture = picture_of(NULL, NULL, SR_REACHED_ALL, WIDTH, (double)INFINITY);
  Talk talk;
  hear_picture(picture, 0.0, 0.0, &talk);
  assert_int_equal(times_said(&talk, "F♯"), 7);
  assert_int_equal(times_said(&talk, "4"), 1);
  assert_int_equal(times_said(&talk, "0.4 s wait"), 1);
  assert_int_equal(times_said(&talk, "45"), 1);
  assert_int_equal(times_said(&talk, "late"), picture->system_count);
  talk_clear(&talk);
  sr_round_picture_del(picture);
  made_round_clear(&made);
  made_round_make(&made, made_tune, 1);
  picture = picture_of(NULL, NULL, SR_REACHED_ALL, 1600.0, (double)INFINITY);
  assert_int_equal(picture->system_count, 4);
  assert_true(picture->rows.size >= 11.0);
  sr_round_picture_del(picture);
  // On a phone letters are still legible, and lines fewer bars
  picture = picture_of(NULL, NULL, SR_REACHED_ALL, 360.0, (double)INFINITY);
  assert_true(picture->system_count > 8);
  assert_true(picture->rows.size >= 11.0);
  sr_round_picture_del(picture);
  made_round_clear(&made);
}

// Rounds that go on ------------------------------------------------------------------------------

static void
notes_not_reached_are_outlined(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 1);
  made_round_spoil(&made, 0);
  SrRoundPicture* picture = picture_of(NULL, NULL, 0, WIDTH, HEIGHT);
  char* const svg = svg_of(picture);
  assert_int_equal(count_elements(svg, FAULT_COLOUR, ""), 0);
  free(svg);
  sr_round_picture_del(picture);
  made_round_clear(&made);
  made_round_make(&made, made_jig, 1);
  picture = picture_of(NULL, NULL, 12, WIDTH, HEIGHT);
  const SrRoundLine line = sr_round_line(picture, NULL, 0, 0.0, 0.0);
  const SrArea* const box = &line.box.area;
  const double edge = sr_bellows_x(&line.box, picture->content.strokes[12].start);
  const SrArea before = {box->left, box->top, edge - box->left, box->height};
  const SrArea after = {edge, box->top, box->width - (edge - box->left), box->height};
  size_t covered[2] = {0, 0};
  for (int i = 0; i < 2; ++i) {
    size_t size = 0;
    unsigned char* const shape = shape_of(picture, i ? &after : &before, &size);
    for (size_t p = 0; p < size; ++p) {
      covered[i] += shape[p];
    }
    free(shape);
  }
  assert_true(2 * covered[0] > 3 * covered[1]);
  sr_round_picture_del(picture);
  made_round_clear(&made);
}

/// Of a round that goes on there are only verdicts, and those beyond the last one mean nothing.
static void
a_round_that_goes_on(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 1);
  made_round_put(&made, 0, 4, OUTCOME_LONG);
  const size_t count = made.rounds[0].note_count;
  memset(&made.notes[0][10], 0x5A, (count - 10) * sizeof(SrNoteVerdict));
  SrRound round = {.notes = made.notes[0], .note_count = count};
  made.rounds[0] = round;
  SrRoundPicture* const picture = picture_of(NULL, NULL, 10, WIDTH, HEIGHT);
  size_t filled = 0;
  for (size_t i = 0; i < count; ++i) {
    const SrSeenNote* const note = &picture->content.notes[i];
    filled += note->seen == SR_SEEN_HEARD ? 1 : 0;
    assert_int_equal(note->fault, i == 4);
    // Each sound lies where its note does, the last one too
    const SrDrawnStroke* const stroke = &picture->content.strokes[i];
    assert_true(fabs(note->from - stroke->start) < 0.01);
    assert_true(fabs(note->to - stroke->start - stroke->length) < 0.01);
  }
  assert_int_equal(filled, 10);
  // 2 ms late at 90 pulses of 3/8 a minute
  assert_true(fabs(picture->content.notes[9].from - picture->content.strokes[9].start - 0.001125) <
              1e-6);
  check_words(picture);
  sr_round_picture_del(picture);
  made_round_clear(&made);
}

static void
late_notes_begin_late(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 1);
  made_round_put(&made, 0, 3, OUTCOME_LATE);
  SrRoundPicture* const picture = picture_of(NULL, NULL, SR_REACHED_ALL, WIDTH, HEIGHT);
  const SrRoundContent* const content = &picture->content;
  // At 90 pulses of 3/8 a minute, 45 ms are 0.045 * 1.5 * 0.375 whole notes
  assert_true(fabs(content->notes[3].from - content->strokes[3].start - 0.0253125) < 1e-6);
  assert_true(content->notes[3].off_pulse && content->notes[3].fault);
  assert_false(content->notes[2].off_pulse || content->notes[2].fault);
  sr_round_picture_del(picture);
  made_round_clear(&made);
}

static void
bad_arguments_are_refused(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 1);
  SrPicturedRound pictured = {
      .phrase = made.phrase, .round = &made.rounds[0], .reached = SR_REACHED_ALL};
  SrRoundStyle style = {0};
  SrRoundPicture* picture = NULL;
  SrError error;
  assert_int_equal(sr_round_picture_new(&pictured, NULL, 119.0, 100.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  assert_int_equal(sr_round_picture_new(&pictured, NULL, 400.0, 0.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  assert_int_equal(sr_round_picture_new(&pictured, NULL, (double)NAN, 100.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  style.most_size = 3.0;
  assert_int_equal(sr_round_picture_new(&pictured, &style, 400.0, 100.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  --made.rounds[0].note_count;
  assert_int_equal(sr_round_picture_new(&pictured, NULL, 400.0, 100.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  assert_null(picture);
  made_round_clear(&made);
}

/// Each bar is where a pointer to its middle says, and times run through it from left to right.
static void
bars_and_times_are_where_they_are_drawn(void** const state)
{
  (void)state;
  made_round_make(&made, made_tune, 1);
  static const double SIZES[][2] = {{360.0, 300.0}, {700.0, 240.0}, {1900.0, 900.0}};
  for (size_t i = 0; i < sizeof(SIZES) / sizeof(SIZES[0]); ++i) {
    SrRoundPicture* const picture =
        picture_of(NULL, NULL, SR_REACHED_ALL, SIZES[i][0], SIZES[i][1]);
    const size_t bars = sr_phrase_bar_count(made.phrase);
    for (size_t bar = 0; bar < bars; ++bar) {
      SrRoundBox box;
      SrRoundBox at;
      assert_true(sr_round_picture_bar(picture, bar, &box));
      assert_true(box.width > 0.0 && box.height > 0.0);
      assert_true(box.left >= 0.0 && box.left + box.width <= SIZES[i][0] + 1e-6);
      assert_true(box.top >= -1e-6 && box.top + box.height <= SIZES[i][1] + 1e-6);
      assert_int_equal(
          sr_round_picture_bar_at(picture, box.left + box.width / 2.0, box.top + box.height / 2.0),
          bar);
      const SrPhraseBar* const written = sr_phrase_bar(made.phrase, bar);
      const double middle =
          sr_fraction_value(written->start) + sr_fraction_value(written->length) / 2.0;
      sr_round_picture_time(picture, middle, &at);
      assert_true(fabs(at.left - box.left - box.width / 2.0) < 1e-6);
      assert_true(at.top >= box.top && at.top + at.height <= box.top + box.height + 1e-6);
    }
    assert_int_equal(sr_round_picture_bar_at(picture, -9.0, -9.0), 0);
    sr_round_picture_del(picture);
  }
  made_round_clear(&made);
}

/// A few bars alone are drawn larger than all, and no other is there.
static void
a_few_bars_can_be_drawn_alone(void** const state)
{
  (void)state;
  made_round_make(&made, made_jig, 1);
  SrPicturedRound pictured = {
      .phrase = made.phrase, .round = &made.rounds[0], .reached = SR_REACHED_ALL};
  const SrRoundStyle style = {.close = true, .no_offsets = true};
  double letters[2];
  for (size_t few = 0; few < 2; ++few) {
    SrRoundPicture* picture = NULL;
    SrRoundBox box;
    pictured.first_bar = few;
    pictured.bar_count = few ? 2 : 0;
    assert_int_equal(sr_round_picture_new(&pictured, &style, 400.0, 300.0, &picture, NULL), SR_OK);
    letters[few] = sr_round_picture_letters(picture);
    assert_int_equal(sr_round_picture_bar(picture, 0, &box), !few);
    assert_true(sr_round_picture_bar(picture, 1, &box));
    assert_true(sr_round_picture_bar(picture, 2, &box));
    assert_int_equal(sr_round_picture_bar(picture, 3, &box), !few);
    free(svg_of(picture));
    sr_round_picture_del(picture);
  }
  assert_true(letters[1] > letters[0]);
  // Bars that are not there
  SrRoundPicture* picture = NULL;
  pictured.first_bar = 3;
  pictured.bar_count = 2;
  assert_int_equal(sr_round_picture_new(&pictured, &style, 400.0, 300.0, &picture, NULL),
                   SR_BAD_ARGUMENT);
  assert_null(picture);
  made_round_clear(&made);
}

int
main(const int argc, char** const argv)
{
  if (argc != 2) {
    return 2;
  }
  snprintf(layout_path, sizeof(layout_path), "%s", argv[1]);
  if (sr_instrument_read_file(layout_path, &instrument, NULL)) {
    return 2;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bars_and_times_are_where_they_are_drawn),
      cmocka_unit_test(a_few_bars_can_be_drawn_alone),
      cmocka_unit_test(a_clean_round_has_no_sign_of_a_fault),
      cmocka_unit_test(each_fault_has_its_sign),
      cmocka_unit_test(each_fault_has_the_colour),
      cmocka_unit_test(outcomes_differ_without_colour),
      cmocka_unit_test(words_have_room_at_any_size),
      cmocka_unit_test(what_is_said),
      cmocka_unit_test(notes_not_reached_are_outlined),
      cmocka_unit_test(a_round_that_goes_on),
      cmocka_unit_test(late_notes_begin_late),
      cmocka_unit_test(bad_arguments_are_refused),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  sr_instrument_del(instrument);
  return failed;
}
