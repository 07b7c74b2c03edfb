// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_progress_picture.c
   Progress as a picture: marks stand where their days are, what was not measured has none, days are
   put together where they would be too close, and words have room; the same of the page.

   usage: test_progress_picture
*/

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_progress.h"
#include "talk.h"

#include <steadyreed/show_progress.h>

#include "show/picture_file.h"
#include "show/progress_layout.h"
#include "show/progress_sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double widths[] = {240.0, 336.0, 535.0, 1256.0};
#define WIDTH_COUNT (sizeof(widths) / sizeof(widths[0]))
#define TIME_COUNT 5

static void
assert_near(const double value, const double wanted, const double apart)
{
  if (!(fabs(value - wanted) <= apart)) {
    fail_msg("%.9g is not %.9g", value, wanted);
  }
}

static SrProgressPicture*
picture_of(const MadeProgress* const made, const double width, const double height)
{
  const SrPicturedProgress pictured = made_progress_pictured(made);
  SrProgressPicture* picture = NULL;
  SrError error = {0};
  if (sr_progress_picture_new(&pictured, NULL, width, height, &picture, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  return picture;
}

/// The chart of a kind; one without marks if there is none.
static const SrChart*
chart_of(const SrProgressPicture* const picture, const SrChartKind kind)
{
  static const SrChart none = {0};
  const SrChart* found = &none;
  for (size_t i = 0; i < picture->chart_count; ++i) {
    found = picture->charts[i].kind == kind ? &picture->charts[i] : found;
  }
  return found;
}

// Days -------------------------------------------------------------------------------------------

static void
weeks_months_and_leap_days(void** const state)
{
  (void)state;
  char words[SR_BIN_WORDS_SIZE];
  char tick[SR_TICK_WORDS_SIZE];
  // ISO 8601:2004, 4.1.4: 12 April 1985 is day 5 of its week
  assert_int_equal(sr_bin_first_day(SR_BIN_WEEK, sr_bin_of(SR_BIN_WEEK, 5580)), 5580 - 4);
  // Day 0 was a Thursday, and its week began in 1969
  assert_int_equal(sr_bin_of(SR_BIN_WEEK, -3), 0);
  assert_int_equal(sr_bin_of(SR_BIN_WEEK, -4), -1);
  // 2028 is a leap year: day 21243 is 29 February
  assert_int_equal(sr_bin_of(SR_BIN_MONTH, 21243), sr_bin_of(SR_BIN_MONTH, 21243 - 28));
  assert_int_equal(sr_bin_of(SR_BIN_MONTH, 21244), sr_bin_of(SR_BIN_MONTH, 21243) + 1);
  assert_int_equal(sr_bin_of(SR_BIN_YEAR, 21244), 2028);
  for (int bin = 0; bin < SR_BIN_COUNT; ++bin) {
    for (int day = -800; day < 22000; day += 13) {
      const int number = sr_bin_of((SrBin)bin, day);
      assert_true(sr_bin_first_day((SrBin)bin, number) <= day);
      assert_true(sr_bin_first_day((SrBin)bin, number + 1) > day);
    }
  }
  assert_string_equal(sr_bin_words(SR_BIN_DAY, MADE_TODAY, words), "Sun 29 Nov");
  assert_string_equal(sr_bin_words(SR_BIN_WEEK, sr_bin_of(SR_BIN_WEEK, MADE_TODAY), words),
                      "week of 23 Nov");
  assert_string_equal(sr_bin_words(SR_BIN_MONTH, sr_bin_of(SR_BIN_MONTH, MADE_TODAY), words),
                      "November 2026");
  assert_string_equal(sr_bin_words(SR_BIN_QUARTER, sr_bin_of(SR_BIN_QUARTER, MADE_TODAY), words),
                      "Oct to Dec 2026");
  assert_int_equal(sr_tick_next(SR_TICK_WEEK, 20780), 20780); // a Monday
  assert_int_equal(sr_tick_next(SR_TICK_WEEK, 20781), 20787);
  assert_int_equal(sr_tick_next(SR_TICK_MONTH, 20728), 20758);
  assert_int_equal(sr_tick_next(SR_TICK_QUARTER, 20728), 20819);
  assert_int_equal(sr_tick_next(SR_TICK_YEAR, 20728), 20819);
  assert_string_equal(sr_tick_words(SR_TICK_MONTH, 20819, tick), "2027");
  assert_string_equal(sr_tick_words(SR_TICK_WEEK, 20780, tick), "23 Nov");
}

/// Each day with a value has one mark, in the middle of its day; others have none.
static void
marks_stand_where_their_days_are(void** const state)
{
  (void)state;
  MadeProgress made;
  made_progress_make(MADE_MONTH, &made);
  const double span = MADE_TODAY - made.days[0].day + 1;
  for (size_t w = 0; w < WIDTH_COUNT; ++w) {
    SrProgressPicture* const picture = picture_of(&made, widths[w], (double)INFINITY);
    const SrChart* const tempo = chart_of(picture, SR_CHART_TEMPO);
    const SrChart* const alone = chart_of(picture, SR_CHART_ALONE);
    assert_int_equal(picture->bin, SR_BIN_DAY);
    assert_string_equal(picture->note, "");
    size_t tempos = 0;
    size_t alones = 0;
    for (size_t i = 0; i < made.day_count; ++i) {
      const SrPracticeDay* const day = &made.days[i];
      const double x = picture->left + (picture->right - picture->left) *
                                           (day->day - made.days[0].day + 0.5) / span;
      if (isfinite(day->clean_bpm)) {
        const SrChartMark* const mark = &tempo->marks[tempos++];
        assert_near(mark->x, x, 1e-6);
        assert_near(mark->value, day->clean_bpm, 1e-9);
        assert_near(mark->more, day->best_clean_bpm, 1e-9);
        // Its height is that of its value
        const double share = (mark->value - tempo->low) / (tempo->high - tempo->low);
        assert_near(sr_chart_y(tempo, mark->value),
                    tempo->top + tempo->head + tempo->plot * (1.0 - share), 1e-6);
      }
      if (isfinite(day->alone_ms)) {
        assert_near(alone->marks[alones++].x, x, 1e-6);
      }
    }
    assert_true(tempos < made.day_count && alones < tempos);
    assert_int_equal(tempo->mark_count, tempos);
    assert_int_equal(alone->mark_count, alones);
    sr_progress_picture_del(picture);
  }
  made_progress_clear(&made);
}

static void
what_was_not_measured_has_no_chart(void** const state)
{
  (void)state;
  MadeProgress made;
  made_progress_make(MADE_PLAIN, &made);
  SrProgressPicture* const picture = picture_of(&made, 535.0, (double)INFINITY);
  assert_int_equal(picture->chart_count, 4);
  assert_true(chart_of(picture, SR_CHART_SPREAD)->mark_count);
  assert_false(chart_of(picture, SR_CHART_OFFSET)->mark_count);
  assert_false(chart_of(picture, SR_CHART_ALONE)->mark_count);
  assert_false(chart_of(picture, SR_CHART_AIR)->mark_count);
  char words[SR_PROGRESS_WORDS_SIZE];
  (void)sr_progress_picture_words(picture, words);
  assert_non_null(strstr(words, "18 days practised"));
  assert_non_null(strstr(words, "Clean tempo: 9"));
  assert_null(strstr(words, "click"));
  sr_progress_picture_del(picture);
  made_progress_clear(&made);
}

/// Whether a pixel of a picture on white paper is dark enough for a line or a mark.
static bool
is_inked(cairo_surface_t* const surface, const double x, const double y)
{
  const unsigned char* const data = cairo_image_surface_get_data(surface);
  const int stride = cairo_image_surface_get_stride(surface);
  uint32_t pixel;
  memcpy(&pixel, data + (long)stride * (int)y + 4L * (int)x, sizeof(pixel));
  return (pixel & 0xFFu) < 0xD0u;
}

/// A line goes from day to day, and not across a day that was skipped.
static void
no_line_across_a_gap(void** const state)
{
  (void)state;
  MadeProgress made;
  made_progress_make(MADE_PLAIN, &made);
  SrProgressPicture* const picture = picture_of(&made, 1256.0, (double)INFINITY);
  cairo_surface_t* const surface = cairo_image_surface_create(
      CAIRO_FORMAT_RGB24, 1256, (int)ceil(sr_progress_picture_height(picture)));
  cairo_t* const cairo = cairo_create(surface);
  cairo_set_source_rgb(cairo, 1.0, 1.0, 1.0);
  cairo_paint(cairo);
  assert_int_equal(sr_progress_picture_draw(picture, cairo, 0.0, 0.0), SR_OK);
  cairo_destroy(cairo);
  cairo_surface_flush(surface);
  const SrChart* const chart = chart_of(picture, SR_CHART_SPREAD);
  size_t joined = 0;
  size_t apart = 0;
  for (size_t i = 1; i < chart->mark_count; ++i) {
    const SrChartMark* const from = &chart->marks[i - 1];
    const SrChartMark* const to = &chart->marks[i];
    const bool next = to->bin == from->bin + 1;
    const double x = (from->x + to->x) / 2.0;
    const double y = (sr_chart_y(chart, from->value) + sr_chart_y(chart, to->value)) / 2.0;
    const bool inked =
        is_inked(surface, x, y) || is_inked(surface, x, y - 1.0) || is_inked(surface, x, y + 1.0);
    if (inked != next) {
      fail_msg("%s line between days %d and %d", inked ? "a" : "no", from->bin, to->bin);
    }
    joined += next;
    apart += !next;
  }
  assert_true(joined > 3 && apart > 3);
  cairo_surface_destroy(surface);
  sr_progress_picture_del(picture);
  made_progress_clear(&made);
}

// Days together ----------------------------------------------------------------------------------

/// Of years, each mark is the median of its days, and time their sum; the picture says so.
static void
close_days_are_put_together(void** const state)
{
  (void)state;
  MadeProgress made;
  made_progress_make(MADE_THREE_YEARS, &made);
  SrProgressPicture* const picture = picture_of(&made, 336.0, (double)INFINITY);
  assert_int_equal(picture->bin, SR_BIN_MONTH);
  assert_non_null(strstr(picture->note, "median of the days of a month"));
  const SrChart* const spread = chart_of(picture, SR_CHART_SPREAD);
  const SrChart* const minutes = chart_of(picture, SR_CHART_MINUTES);
  assert_true(minutes->hours);
  // November 2026: half of its days lie at or below its median, and half at or above
  const int first = sr_bin_first_day(SR_BIN_MONTH, spread->last_bin);
  const double median = spread->marks[spread->mark_count - 1].value;
  size_t below = 0;
  size_t above = 0;
  size_t count = 0;
  double seconds = 0.0;
  for (size_t i = 0; i < made.day_count; ++i) {
    if (made.days[i].day >= first) {
      below += made.days[i].spread_ms <= median;
      above += made.days[i].spread_ms >= median;
      seconds += made.days[i].seconds;
      ++count;
    }
  }
  assert_true(count > 8 && 2 * below >= count && 2 * above >= count);
  assert_near(minutes->marks[minutes->mark_count - 1].value, seconds / 3600.0, 1e-9);
  // The summer off is a gap, as wide as it was long
  size_t gaps = 0;
  for (size_t i = 1; i < spread->mark_count; ++i) {
    gaps += spread->marks[i].bin > spread->marks[i - 1].bin + 1;
  }
  assert_int_equal(gaps, 2);
  sr_progress_picture_del(picture);
  made_progress_clear(&made);
}

/// Marks keep a distance at which they can be told apart, at any time and width.
static void
marks_keep_their_distance(void** const state)
{
  (void)state;
  for (int time = 0; time < TIME_COUNT; ++time) {
    MadeProgress made;
    made_progress_make((MadeTime)time, &made);
    for (size_t w = 0; w < WIDTH_COUNT; ++w) {
      SrProgressPicture* const picture = picture_of(&made, widths[w], (double)INFINITY);
      double least = (double)INFINITY;
      for (size_t c = 0; c < picture->chart_count; ++c) {
        const SrChart* const chart = &picture->charts[c];
        for (size_t i = 0; i < chart->mark_count; ++i) {
          const double before = i ? chart->marks[i - 1].x : -(double)INFINITY;
          least = fmin(least, chart->marks[i].x - before);
          assert_true(chart->marks[i].x > picture->left && chart->marks[i].x < picture->right);
          assert_true(chart->marks[i].value >= chart->low && chart->marks[i].value <= chart->high);
        }
      }
      print_message("time %d, width %4.0f: bin %d, marks at least %.1f apart (limit 3)\n", time,
                    widths[w], (int)picture->bin, least);
      assert_true(least >= 3.0);
      sr_progress_picture_del(picture);
    }
    made_progress_clear(&made);
  }
}

// Words ------------------------------------------------------------------------------------------

/// Draw with a pen that tells what is said, and see that everything lies inside.
static void
hear(const SrProgressPicture* const picture, const SrProgressSheet* const sheet, Talk* const talk,
     const SrArea* const inside)
{
  cairo_surface_t* const surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
  cairo_t* const cairo = cairo_create(surface);
  SrPen pen;
  memset(talk, 0, sizeof(*talk));
  assert_true(sr_pen_begin(&pen, cairo));
  pen.said = talk_hear;
  pen.said_context = talk;
  if (sheet) {
    sr_progress_sheet_draw(sheet, &pen);
  } else {
    sr_progress_draw(picture, &pen, 0.0, 0.0);
  }
  sr_pen_end(&pen);
  double left;
  double top;
  double width;
  double height;
  cairo_recording_surface_ink_extents(surface, &left, &top, &width, &height);
  if (left < inside->left || top < inside->top || left + width > inside->left + inside->width ||
      top + height > inside->top + inside->height) {
    fail_msg("%.1f, %.1f, %.1f by %.1f is outside %.1f by %.1f", left, top, width, height,
             inside->width, inside->height);
  }
  cairo_destroy(cairo);
  cairo_surface_destroy(surface);
}

static void
check_apart(const Talk* const talk, const int time, const double width)
{
  for (size_t i = 0; i < talk->count; ++i) {
    for (size_t k = 0; k < i; ++k) {
      if (sr_area_meets(&talk->said[k].letters, &talk->said[i].letters, -0.1)) {
        fail_msg("time %d, width %.0f: “%s” lies on “%s”", time, width, talk->said[i].text,
                 talk->said[k].text);
      }
    }
  }
}

static void
words_have_room(void** const state)
{
  (void)state;
  static const double heights[] = {(double)INFINITY, 900.0, 500.0, 300.0};
  for (int time = 0; time < TIME_COUNT; ++time) {
    MadeProgress made;
    made_progress_make((MadeTime)time, &made);
    for (size_t w = 0; w < WIDTH_COUNT; ++w) {
      for (size_t h = 0; h < sizeof(heights) / sizeof(heights[0]); ++h) {
        SrProgressPicture* const picture = picture_of(&made, widths[w], heights[h]);
        const double height = sr_progress_picture_height(picture);
        const SrArea inside = {-1.0, -2.0, widths[w] + 2.0, height + 3.0};
        Talk talk;
        assert_true(height <= heights[h] + 1e-6);
        hear(picture, NULL, &talk, &inside);
        check_apart(&talk, time, widths[w]);
        talk_clear(&talk);
        sr_progress_picture_del(picture);
      }
    }
    made_progress_clear(&made);
  }
}

static void
the_page_has_room(void** const state)
{
  (void)state;
  static const double margin = 24.0;
  static char title[] = "The Very Long Way Round by the Upper Bridge, the Lower Bridge and the Old "
                        "Mill, as It Was Played When the River Was High and Nobody Could Get Home";
  for (int time = 0; time < TIME_COUNT; ++time) {
    MadeProgress made;
    made_progress_make((MadeTime)time, &made);
    const SrPhraseProgress phrase = made_progress_phrase(&made, title);
    const SrProgressPages pages = {&phrase, 1, made.every, made.every_count, MADE_TODAY};
    const SrArea inside = {margin, margin, SR_A4_SHORT - 2.0 * margin, SR_A4_LONG - 2.0 * margin};
    SrProgressSheet* sheet = NULL;
    Talk talk;
    assert_int_equal(sr_progress_sheet_new(&pages, 0, &sheet, NULL), SR_OK);
    hear(NULL, sheet, &talk, &inside);
    check_apart(&talk, time, SR_A4_SHORT);
    // The sentence is the largest, and the minutes come before the other charts
    double largest = 0.0;
    size_t minutes = SIZE_MAX;
    size_t tempo = SIZE_MAX;
    const char* words = "";
    for (size_t i = 0; i < talk.count; ++i) {
      if (talk.said[i].letters.height > largest) {
        largest = talk.said[i].letters.height;
        words = talk.said[i].text;
      }
      minutes =
          !strcmp(talk.said[i].text, time < MADE_THREE_YEARS ? "Minutes" : "Hours") ? i : minutes;
      tempo = !strcmp(talk.said[i].text, "Clean tempo") ? i : tempo;
    }
    char sentence[SR_TREND_WORDS_SIZE];
    assert_non_null(strstr(sr_show_trends(&phrase.trends, sentence), words));
    assert_true(minutes < tempo && tempo < talk.count);
    talk_clear(&talk);
    sr_progress_sheet_del(sheet);
    made_progress_clear(&made);
  }
}

/// Figures and days that nobody plays, as a history from elsewhere may have them.
static void
beyond_all_measure(void** const state)
{
  (void)state;
  SrPracticeDay days[3];
  for (size_t i = 0; i < 3; ++i) {
    days[i] = (SrPracticeDay){.day = -700000 + (int)i * 1500000,
                              .rounds = 1,
                              .clean_bpm = 1e17,
                              .best_clean_bpm = 1e17,
                              .cuts = 1,
                              .cuts_clean = 1,
                              .spread_ms = i ? 1e300 : 0.0,
                              .offset_ms = -1e300,
                              .abs_offset_ms = 1e300,
                              .alone_ms = 1e-300,
                              .seconds = 1e300};
  }
  char title[] = "";
  const SrPhraseProgress phrase = {.phrase = {.title = title},
                                   .days = days,
                                   .day_count = 3,
                                   .trends = sr_phrase_trends(days, 3)};
  const SrProgressPages pages = {&phrase, 1, NULL, 0, MADE_TODAY};
  const SrArea inside = {-1e6, -1e6, 2e6, 2e6};
  SrProgressSheet* sheet = NULL;
  Talk talk;
  assert_int_equal(sr_progress_sheet_new(&pages, 0, &sheet, NULL), SR_OK);
  hear(NULL, sheet, &talk, &inside);
  assert_true(talk.count > 20);
  talk_clear(&talk);
  sr_progress_sheet_del(sheet);
}

static void
refused(void** const state)
{
  (void)state;
  MadeProgress made;
  SrProgressPicture* picture = NULL;
  SrError error = {0};
  made_progress_make(MADE_MONTH, &made);
  SrPicturedProgress pictured = made_progress_pictured(&made);
  const SrProgressStyle small = {.most_size = 1.0};
  const double endless = (double)INFINITY;
  assert_int_equal(sr_progress_picture_new(&pictured, NULL, 100.0, endless, &picture, &error),
                   SR_BAD_ARGUMENT);
  assert_int_equal(sr_progress_picture_new(&pictured, NULL, endless, endless, &picture, &error),
                   SR_BAD_ARGUMENT);
  assert_int_equal(sr_progress_picture_new(&pictured, NULL, 400.0, 0.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  assert_int_equal(sr_progress_picture_new(&pictured, &small, 400.0, 400.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  made.days[3].day = made.days[2].day;
  assert_int_equal(sr_progress_picture_new(&pictured, NULL, 400.0, 400.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  pictured.day_count = 0;
  assert_int_equal(sr_progress_picture_new(&pictured, NULL, 400.0, 400.0, &picture, &error),
                   SR_BAD_ARGUMENT);
  assert_null(picture);
  const SrPhraseProgress phrase = {.phrase = {.title = NULL}};
  const SrProgressPages none = {.phrases = &phrase};
  const SrProgressPages empty = {.phrases = &phrase, .phrase_count = 1};
  assert_int_equal(sr_page_progress("none.pdf", &none, &error), SR_BAD_ARGUMENT);
  assert_int_equal(sr_page_progress("none.pdf", &empty, &error), SR_BAD_ARGUMENT);
  sr_progress_picture_del(NULL);
  made_progress_clear(&made);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(weeks_months_and_leap_days),
      cmocka_unit_test(marks_stand_where_their_days_are),
      cmocka_unit_test(what_was_not_measured_has_no_chart),
      cmocka_unit_test(no_line_across_a_gap),
      cmocka_unit_test(close_days_are_put_together),
      cmocka_unit_test(marks_keep_their_distance),
      cmocka_unit_test(words_have_room),
      cmocka_unit_test(the_page_has_room),
      cmocka_unit_test(beyond_all_measure),
      cmocka_unit_test(refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
