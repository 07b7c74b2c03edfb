// SPDX-License-Identifier: GPL-3.0-or-later

// Pages for the music stand, of the shipped exercises as they are planned: how large the letters
// are, on how many pages, and what is drawn only once. The folder of exercises is the first
// argument, a layout the second.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "talk.h"

#include "show/bellows_picture.h"
#include "show/page_content.h"

#include <steadyreed/plan.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MM (72.0 / 25.4)

static const char* exercises;
static SrInstrument* instrument;

/// A phrase with its plan, and its page.
typedef struct {
  SrPhrase* phrase;
  SrPlans* plans;
  SrPageContent content;
  SrSheet* sheet;
  Talk talk;
} Page;

static void
make_page(const char* const name, Page* const page)
{
  char path[1024];
  SrError error;
  snprintf(path, sizeof(path), "%s/%s.abc", exercises, name);
  assert_int_equal(sr_phrase_read_file(path, NULL, &page->phrase, &error), SR_OK);
  const SrPlanSettings settings = {.bpm = sr_phrase_tempo(page->phrase),
                                   .bellows = sr_bellows_default(),
                                   .style = sr_plan_style(0),
                                   .plans = 1};
  assert_int_equal(sr_plan(page->phrase, instrument, &settings, &page->plans, &error), SR_OK);
  const SrPageStyle style = {.remark = settings.style.name, .bpm = settings.bpm};
  assert_int_equal(sr_page_content_make(page->phrase, instrument, sr_plans_get(page->plans, 0),
                                        &style, &page->content, &error),
                   SR_OK);
  assert_int_equal(sr_sheet_new(&page->content.sheet, true, &page->sheet), SR_OK);
  talk_draw(page->sheet, &page->talk);
}

static void
clear_page(Page* const page)
{
  talk_clear(&page->talk);
  sr_sheet_del(page->sheet);
  sr_page_content_clear(&page->content);
  sr_plans_del(page->plans);
  sr_phrase_del(page->phrase);
}

/// What is measured of the notes' words on a page.
typedef struct {
  double name;   ///< Least height of a name's capital, mm
  double button; ///< Least height of a button's name, mm
  double cut;    ///< Least height of a cut's words, mm
  size_t notes;
  size_t last_page;
} Letters;

static Letters
measure(const Page* const page)
{
  Letters letters = {.name = (double)INFINITY, .button = (double)INFINITY, .cut = (double)INFINITY};
  const SrDrawnPhrase* const phrase = &page->content.sheet.phrase;
  const Talk* const talk = &page->talk;
  for (size_t i = 0; i < talk->count; ++i) {
    const SrDrawnStroke* note = NULL;
    for (size_t k = 0; k < phrase->stroke_count && !note; ++k) {
      note = talk_is_note(talk, i, &phrase->strokes[k]) ? &phrase->strokes[k] : NULL;
    }
    if (note) {
      // The words after its finger are those of its cut, if it has one and so has no next note yet
      const Said* const next = &talk->said[i + 3];
      if (i + 3 < talk->count && next->letters.top > talk->said[i + 1].letters.top &&
          strchr(next->text, '-')) {
        letters.cut = fmin(letters.cut, next->letters.height / MM);
      }
      letters.name = fmin(letters.name, talk->said[i].letters.height / MM);
      letters.button = fmin(letters.button, talk->said[i + 1].letters.height / MM);
      letters.last_page = talk->said[i].page;
      ++letters.notes;
    }
  }
  return letters;
}

static bool
says(const Page* const page, const char* const text)
{
  for (size_t i = 0; i < page->talk.count; ++i) {
    if (strstr(page->talk.said[i].text, text)) {
      return true;
    }
  }
  return false;
}

/// Two to eight bars: their notes on one page, names 8 mm high, buttons 5 mm.
static void
phrases_are_read_at_two_metres(void** const state)
{
  (void)state;
  static const char* const NAMES[] = {"first-cuts",   "first-sip",  "quick-threes",
                                      "reel-turn",    "three-as",   "twos",
                                      "sip-in-a-jig", "even-sixes", "low-and-high"};
  for (size_t i = 0; i < sizeof(NAMES) / sizeof(NAMES[0]); ++i) {
    Page page;
    make_page(NAMES[i], &page);
    const Letters letters = measure(&page);
    print_message("%s: names %.1f mm, buttons %.1f mm, cuts %.1f mm, %zu notes\n", NAMES[i],
                  letters.name, letters.button, letters.cut, letters.notes);
    assert_true(letters.cut >= 2.0);
    assert_true(letters.notes > 0);
    assert_true(letters.name >= 8.0 && letters.button >= 5.0);
    assert_int_equal(letters.last_page, 0);
    clear_page(&page);
  }
}

/// Whole tunes: on two pages, names at least 4 mm high.
static void
tunes_are_on_two_pages(void** const state)
{
  (void)state;
  static const char* const NAMES[] = {"session-jig", "kettle-jig"};
  for (size_t i = 0; i < sizeof(NAMES) / sizeof(NAMES[0]); ++i) {
    Page page;
    make_page(NAMES[i], &page);
    const Letters letters = measure(&page);
    print_message("%s: names %.1f mm, buttons %.1f mm\n", NAMES[i], letters.name, letters.button);
    assert_true(letters.name >= 4.0 && letters.button >= 2.5);
    assert_true(letters.last_page <= 1);
    // Each part is played twice, so at most half of all notes are drawn
    assert_true(letters.notes < sr_phrase_note_count(page.phrase));
    clear_page(&page);
  }
}

static void
the_head_names_what_is_planned(void** const state)
{
  (void)state;
  Page page;
  make_page("session-jig", &page);
  char words[128];
  snprintf(words, sizeof(words), "key D · 100 pulses a minute · %s", sr_plan_style(0).name);
  assert_true(says(&page, words));
  assert_true(says(&page, "The Lamp in the Porch"));
  assert_true(says(&page, sr_instrument_title(instrument)));
  static const char* const FINGERS[] = {"index", "middle", "ring", "little"};
  for (size_t i = 0; i < 4; ++i) {
    bool after_figure = false;
    char figure[8];
    snprintf(figure, sizeof(figure), "(%zu)", i + 1);
    for (size_t k = 1; k < page.talk.count; ++k) {
      after_figure = after_figure || (!strcmp(page.talk.said[k].text, FINGERS[i]) &&
                                      !strcmp(page.talk.said[k - 1].text, figure));
    }
    assert_true(after_figure);
  }
  clear_page(&page);
}

/// The words of one line.
typedef struct {
  const SrDrawnPhrase* phrase;
  Talk talk;
} Line;

/// Drawn notes have all their words above the bellows, pressed ones below them.
static void
words_are_on_the_side_of_their_direction(void** const state)
{
  (void)state;
  static const char* const NAMES[] = {"session-jig", "reel-turn", "sip-in-a-jig", "first-sip"};
  size_t above = 0;
  size_t below = 0;
  for (size_t n = 0; n < sizeof(NAMES) / sizeof(NAMES[0]); ++n) {
    Page page;
    make_page(NAMES[n], &page);
    const SrDrawnPhrase* const phrase = &page.content.sheet.phrase;
    cairo_surface_t* const surface =
        cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
    cairo_t* const cairo = cairo_create(surface);
    SrPen pen;
    assert_true(sr_pen_begin(&pen, cairo));
    pen.said = talk_hear;
    const SrBellowsWay way = {.bars = 2, .scale = 0.8, .narrow = 0.8, .box = 60.0};
    SrBellowsPicture* picture = NULL;
    assert_int_equal(sr_bellows_picture_new(&pen, phrase, 540.0, &way, &picture), SR_OK);
    for (size_t i = 0; i < picture->system_count; ++i) {
      const SrBellowsLine* const line = &picture->systems[i];
      Line drawn = {.phrase = phrase};
      pen.said_context = &drawn.talk;
      sr_bellows_picture_draw(picture, &pen, i, 0.0, 0.0);
      size_t at = 0;
      for (size_t k = 0; k < line->bars.stroke_count; ++k) {
        const SrDrawnStroke* const stroke = &phrase->strokes[line->bars.first_stroke + k];
        while (at < drawn.talk.count && !talk_is_note(&drawn.talk, at, stroke)) {
          ++at;
        }
        assert_true(at < drawn.talk.count);
        const SrDrawnStroke* const next = k + 1 < line->bars.stroke_count ? stroke + 1 : NULL;
        for (; at < drawn.talk.count && !(next && talk_is_note(&drawn.talk, at, next)); ++at) {
          const SrArea* const letters = &drawn.talk.said[at].letters;
          const SrArea* const box = &line->box.area;
          assert_true(stroke->draw ? letters->top + letters->height <= box->top
                                   : letters->top >= box->top + box->height);
          above += stroke->draw;
          below += !stroke->draw;
          if (next && !strcmp(next->name, stroke->name) &&
              talk_is_note(&drawn.talk, at + 1, next)) {
            ++at;
            break;
          }
        }
      }
      talk_clear(&drawn.talk);
    }
    sr_bellows_picture_del(picture);
    sr_pen_end(&pen);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    clear_page(&page);
  }
  assert_true(above > 100 && below > 100);
}

/// A chord's lower notes each have their words, in rows of their own.
static void
a_chord_has_all_its_buttons(void** const state)
{
  (void)state;
  static const SrDrawnSound SOUNDS[2] = {{"E4", "L2-4", SR_FINGER_MIDDLE},
                                         {"C4", "", SR_FINGER_RING}};
  const SrDrawnStroke stroke = {.length = 1.0,
                                .before = 0.5,
                                .after = 0.4,
                                .finger = SR_FINGER_INDEX,
                                .name = "G",
                                .octave = "4",
                                .button = "L2-5",
                                .cut_name = "",
                                .cut_button = "",
                                .air_words = "",
                                .sounds = SOUNDS,
                                .sound_count = 2};
  const SrDrawnBar bar = {.length = 1.0, .pulse = 0.25, .number = 1, .like = SR_DRAWN_LIKE_NONE};
  const SrDrawnPart part = {"", 0, 1};
  const SrDrawnButton button = {.name = "L2-5", .press = "G4", .draw = "A4", .row = 2, .column = 5};
  const SrSheetContent content = {.title = "A chord",
                                  .remark = "",
                                  .caption = "",
                                  .layout = {.buttons = &button, .count = 1},
                                  .phrase = {&stroke, 1, &bar, 1, &part, 1}};
  SrSheet* sheet = NULL;
  assert_int_equal(sr_sheet_new(&content, true, &sheet), SR_OK);
  Talk talk;
  talk_draw(sheet, &talk);
  size_t note = 0;
  while (note < talk.count && !talk_is_note(&talk, note, &stroke)) {
    ++note;
  }
  assert_true(note + 5 < talk.count);
  assert_string_equal(talk.said[note + 3].text, "(2)");
  assert_string_equal(talk.said[note + 4].text, "E4 L2-4");
  assert_string_equal(talk.said[note + 5].text, "C4 skip");
  const SrArea* const upper = &talk.said[note + 4].letters;
  assert_true(upper->top > talk.said[note + 2].letters.top + talk.said[note + 2].letters.height);
  assert_true(talk.said[note + 5].letters.top > upper->top + upper->height);
  talk_clear(&talk);
  sr_sheet_del(sheet);
}

/// A tick at each beat on the upper edge of the bellows, and nowhere else.
static void
beats_have_ticks(void** const state)
{
  (void)state;
  static const SrDrawnStroke STROKE = {.start = 0.125,
                                       .length = 0.75,
                                       .before = 0.5,
                                       .after = 0.5,
                                       .name = "G",
                                       .octave = "4",
                                       .button = "L2-5",
                                       .cut_name = "",
                                       .cut_button = "",
                                       .air_words = ""};
  // A pickup of a quaver, and a bar of 6/8
  static const SrDrawnBar BARS[2] = {{0.0, 0.125, 0.375, 0, SR_DRAWN_LIKE_NONE, NULL},
                                     {0.125, 0.75, 0.375, 1, SR_DRAWN_LIKE_NONE, NULL}};
  static const SrDrawnPart PART = {"", 0, 2};
  const SrDrawnPhrase phrase = {&STROKE, 1, BARS, 2, &PART, 1};
  cairo_surface_t* const surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 600, 400);
  cairo_t* const cairo = cairo_create(surface);
  cairo_set_source_rgb(cairo, 1.0, 1.0, 1.0);
  cairo_paint(cairo);
  SrPen pen;
  assert_true(sr_pen_begin(&pen, cairo));
  const SrBellowsWay way = {.bars = 2, .scale = 1.0, .narrow = 1.0, .box = 80.0};
  SrBellowsPicture* picture = NULL;
  assert_int_equal(sr_bellows_picture_new(&pen, &phrase, 560.0, &way, &picture), SR_OK);
  sr_bellows_picture_draw(picture, &pen, 0, 0.0, 0.0);
  cairo_surface_flush(surface);
  const SrBellowsBox* const box = &picture->systems[0].box;
  for (int quaver = 0; quaver < 7; ++quaver) {
    const int x = (int)lround(sr_bellows_x(box, 0.125 * quaver));
    const unsigned char* const row =
        cairo_image_surface_get_data(surface) +
        (size_t)(box->area.top + 3.0) * (size_t)cairo_image_surface_get_stride(surface);
    int darkest = 255;
    for (int near = x - 1; near <= x; ++near) {
      const int green = row[4 * near + 1];
      darkest = green < darkest ? green : darkest;
    }
    assert_int_equal(darkest < 100, quaver == 1 || quaver == 4);
  }
  sr_bellows_picture_del(picture);
  sr_pen_end(&pen);
  cairo_destroy(cairo);
  cairo_surface_destroy(surface);
}

int
main(const int argc, char** const argv)
{
  if (argc != 3 || sr_instrument_read_file(argv[2], &instrument, NULL) != SR_OK) {
    return 2;
  }
  exercises = argv[1];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(phrases_are_read_at_two_metres),
      cmocka_unit_test(tunes_are_on_two_pages),
      cmocka_unit_test(the_head_names_what_is_planned),
      cmocka_unit_test(words_are_on_the_side_of_their_direction),
      cmocka_unit_test(a_chord_has_all_its_buttons),
      cmocka_unit_test(beats_have_ticks),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  sr_instrument_del(instrument);
  return failed;
}
