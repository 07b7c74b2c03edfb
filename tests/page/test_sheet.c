// SPDX-License-Identifier: GPL-3.0-or-later

// All words of a sheet: there, on the page, and none on another.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_sheet.h"
#include "talk.h"

#include "show/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static size_t
times_said(const Talk* const talk, const char* const text)
{
  size_t times = 0;
  for (size_t i = 0; i < talk->count; ++i) {
    times += !strcmp(talk->said[i].text, text);
  }
  return times;
}

/// Words that contain a text.
static size_t
times_said_in(const Talk* const talk, const char* const text)
{
  size_t times = 0;
  for (size_t i = 0; i < talk->count; ++i) {
    times += strstr(talk->said[i].text, text) != NULL;
  }
  return times;
}

static void
check_places(const char* const name, const SrSheet* const sheet, const Talk* const talk)
{
  for (size_t i = 0; i < talk->count; ++i) {
    const SrArea* const one = &talk->said[i].letters;
    const bool on_page = one->left >= 22.0 && one->top >= 20.0 &&
                         one->left + one->width <= sr_sheet_width(sheet) - 22.0 &&
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
  for (size_t i = 0; i < content->phrase.stroke_count; ++i) {
    size_t times = 0;
    const SrDrawnStroke* const stroke = &content->phrase.strokes[i];
    for (size_t k = 0; k < content->phrase.stroke_count; ++k) {
      const SrDrawnStroke* const other = &content->phrase.strokes[k];
      times += !strcmp(other->name, stroke->name) && !strcmp(other->octave, stroke->octave) &&
               !strcmp(other->button, stroke->button) && other->finger == stroke->finger;
    }
    if (talk_notes(talk, stroke) != times) {
      print_error("%s%s on %s is there %zu times\n", stroke->name, stroke->octave, stroke->button,
                  talk_notes(talk, stroke));
    }
    assert_int_equal(talk_notes(talk, stroke), times);
    // At least the cut's button is said, once more than the notes on it and the picture's button
    if (stroke->cut == SR_DRAWN_CUT) {
      size_t buttons = 1;
      for (size_t k = 0; k < content->phrase.stroke_count; ++k) {
        buttons += !strcmp(content->phrase.strokes[k].button, stroke->cut_button);
      }
      assert_true(times_said_in(talk, stroke->cut_button) > buttons);
    } else if (stroke->cut == SR_DRAWN_CUT_LEFT_OUT) {
      assert_true(times_said_in(talk, "skip") > 0);
    }
  }
  size_t airs = content->phrase.bar_count ? 2 : 1; // on the air button, in the key
  for (size_t i = 0; i < content->phrase.stroke_count; ++i) {
    airs += content->phrase.strokes[i].air;
  }
  assert_int_equal(times_said(talk, "air"), airs);
  for (size_t i = 0; i < content->phrase.bar_count; ++i) {
    char number[16];
    snprintf(number, sizeof(number), "%d", content->phrase.bars[i].number);
    assert_int_equal(times_said(talk, number), content->phrase.bars[i].number > 0);
  }
  if (content->phrase.bar_count) {
    static const char* const KEY[] = {
        "low room: speaks less readily", "turn", "cut", "beat", "draw: opens, words above",
        "press: closes, words below",    "C4"};
    for (size_t i = 0; i < sizeof(KEY) / sizeof(KEY[0]); ++i) {
      assert_true(times_said(talk, KEY[i]) >= 1);
    }
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
      talk_draw(sheet, &talk);
      check_places(sheet_cases[i].name, sheet, &talk);
      check_words(&made, &talk);
      assert_true(paged || sr_sheet_pages(sheet) == 1);
      talk_clear(&talk);
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
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
