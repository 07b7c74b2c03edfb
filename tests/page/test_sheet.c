// SPDX-License-Identifier: GPL-3.0-or-later

// All words of a sheet: there, on the page, and none on another.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_sheet.h"

#include "show/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// One thing said.
typedef struct {
  char text[512];
  SrArea letters;
  size_t page;
} Said;

/// All that was said.
typedef struct {
  Said* said;
  size_t count;
  size_t room;
  size_t page;
} Talk;

static void
hear(void* const context, const char* const text, const SrArea* const letters)
{
  Talk* const talk = context;
  if (talk->count == talk->room) {
    talk->room = 2 * talk->room + 256;
    talk->said = realloc(talk->said, talk->room * sizeof(Said));
    assert_non_null(talk->said);
  }
  Said* const said = &talk->said[talk->count++];
  strncpy(said->text, text, sizeof(said->text) - 1);
  said->text[sizeof(said->text) - 1] = '\0';
  said->letters = *letters;
  said->page = talk->page;
}

/// Draw all pages, and take down what is said.
static void
draw_all(const SrSheet* const sheet, Talk* const talk)
{
  memset(talk, 0, sizeof(*talk));
  for (size_t page = 0; page < sr_sheet_pages(sheet); ++page) {
    cairo_surface_t* const surface =
        cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
    cairo_t* const cairo = cairo_create(surface);
    SrPen pen;
    assert_true(sr_pen_begin(&pen, cairo));
    pen.said = hear;
    pen.said_context = talk;
    talk->page = page;
    sr_sheet_draw(sheet, &pen, page);
    assert_int_equal(cairo_status(cairo), CAIRO_STATUS_SUCCESS);
    sr_pen_end(&pen);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
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

static void
check_places(const char* const name, const SrSheet* const sheet, const Talk* const talk)
{
  for (size_t i = 0; i < talk->count; ++i) {
    const SrArea* const one = &talk->said[i].letters;
    const bool on_page = one->left >= 25.0 && one->top >= 20.0 &&
                         one->left + one->width <= sr_sheet_width(sheet) - 25.0 &&
                         one->top + one->height <= sr_sheet_height(sheet) - 15.0;
    if (!on_page) {
      print_error("%s: “%s” is not on page %zu: %.1f, %.1f\n", name, talk->said[i].text,
                  talk->said[i].page, one->left, one->top);
      fail();
    }
    for (size_t k = 0; k < i; ++k) {
      if (talk->said[k].page == talk->said[i].page &&
          sr_area_meets(&talk->said[k].letters, one, -0.1)) {
        print_error("%s: “%s” lies on “%s”, page %zu\n", name, talk->said[i].text,
                    talk->said[k].text, talk->said[i].page);
        fail();
      }
    }
  }
}

/// Every note's name and button, every cut, every air, every bar number, every button.
static void
check_words(const MadeSheet* const made, const Talk* const talk)
{
  const SrSheetContent* const content = &made->content;
  for (size_t i = 0; i < content->layout.count; ++i) {
    const SrDrawnButton* const button = &content->layout.buttons[i];
    size_t named = 0;
    for (size_t k = 0; k < talk->count; ++k) {
      named += !strncmp(talk->said[k].text, button->name, strlen(button->name));
    }
    assert_true(named > 0);
    assert_true(!*button->press || times_said(talk, button->press) > 0);
    assert_true(!*button->draw || times_said(talk, button->draw) > 0);
  }
  size_t airs = 1; // In the key.
  for (size_t i = 0; i < content->phrase.stroke_count; ++i) {
    const SrDrawnStroke* const stroke = &content->phrase.strokes[i];
    size_t name = 0;
    size_t button = 0;
    for (size_t k = 0; k < content->phrase.stroke_count; ++k) {
      const SrDrawnStroke* const other = &content->phrase.strokes[k];
      name += !strcmp(other->name, stroke->name);
      name += other->cut != SR_DRAWN_NO_CUT && !strcmp(other->cut_name, stroke->name);
      button += !strcmp(other->button, stroke->button);
      button += other->cut == SR_DRAWN_CUT && !strcmp(other->cut_button, stroke->button);
    }
    assert_int_equal(times_said(talk, stroke->name), name);
    // And once on the button itself.
    assert_int_equal(times_said(talk, stroke->button), button + 1);
    airs += stroke->air;
    if (stroke->cut == SR_DRAWN_CUT) {
      assert_true(times_said(talk, stroke->cut_button) > 1);
    }
  }
  // One more on the air button.
  assert_int_equal(times_said(talk, "air"), content->phrase.bar_count ? airs + 1 : 1);
  for (size_t i = 0; i < content->phrase.bar_count; ++i) {
    char number[16];
    snprintf(number, sizeof(number), "%d", content->phrase.bars[i].number);
    assert_int_equal(times_said(talk, number), content->phrase.bars[i].number > 0);
  }
  if (content->phrase.bar_count) {
    assert_true(times_said(talk, "low room: speaks less readily") >= 1);
    assert_int_equal(times_said(talk, "turn"), 1);
    assert_int_equal(times_said(talk, "cut"), 1);
    assert_int_equal(times_said(talk, "draw: opens"), 1);
    assert_int_equal(times_said(talk, "press: closes"), 1);
  }
}

static void
all_words_are_there_and_apart(void** const state)
{
  (void)state;
  for (size_t i = 0; i < sheet_case_count; ++i) {
    for (int paged = 0; paged < 2; ++paged) {
      MadeSheet made;
      assert_true(made_sheet_make(&sheet_cases[i].order, &made));
      SrSheet* sheet = NULL;
      assert_int_equal(sr_sheet_new(&made.content, paged, &sheet), SR_OK);
      Talk talk;
      draw_all(sheet, &talk);
      check_places(sheet_cases[i].name, sheet, &talk);
      check_words(&made, &talk);
      assert_true(paged || sr_sheet_pages(sheet) == 1);
      free(talk.said);
      sr_sheet_del(sheet);
      made_sheet_clear(&made);
    }
  }
}

/// Two to four bars on a line, at letters that are no smaller than on any usual page.
static void
usual_phrases_stay_large(void** const state)
{
  (void)state;
  static const char* const NAMES[] = {"jig", "reel", "long", "slow", "steep"};
  for (size_t n = 0; n < sizeof(NAMES) / sizeof(NAMES[0]); ++n) {
    for (size_t i = 0; i < sheet_case_count; ++i) {
      if (strcmp(sheet_cases[i].name, NAMES[n]) != 0) {
        continue;
      }
      MadeSheet made;
      assert_true(made_sheet_make(&sheet_cases[i].order, &made));
      SrSheet* sheet = NULL;
      assert_int_equal(sr_sheet_new(&made.content, false, &sheet), SR_OK);
      Talk talk;
      draw_all(sheet, &talk);
      double tallest = 0.0;
      size_t lines = 0;
      for (size_t k = 0; k < talk.count; ++k) {
        lines += !strcmp(talk.said[k].text, "shut");
        // A capital letter of a note's name; the title is no name.
        if (strlen(talk.said[k].text) == 1 && talk.said[k].text[0] >= 'A' &&
            talk.said[k].text[0] <= 'G' && talk.said[k].letters.height > tallest) {
          tallest = talk.said[k].letters.height;
        }
      }
      size_t bars = 0;
      for (size_t k = 0; k < made.content.phrase.bar_count; ++k) {
        bars += made.content.phrase.bars[k].number > 0;
      }
      assert_true(bars <= 4 * lines && bars + 1 >= 2 * lines);
      assert_true(tallest > 9.0); // Points
      free(talk.said);
      sr_sheet_del(sheet);
      made_sheet_clear(&made);
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_words_are_there_and_apart),
      cmocka_unit_test(usual_phrases_stay_large),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
