// SPDX-License-Identifier: GPL-3.0-or-later

// A phrase, an instrument and a plan, as the program hands them over.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"

#include "show/page_content.h"

#include <steadyreed/page.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char LAYOUT[] =
    "{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"A small box\",\n"
    " \"left\": {\"fingers\": [\"middle\", \"index\"],\n"
    "  \"row 1\": [{\"press\": \"G4\", \"draw\": \"A4\"}, {\"press\": \"B4\", \"draw\": "
    "\"Bb4\"}]},\n"
    " \"right\": {\"fingers\": [\"index\"],\n"
    "  \"row 1\": [{\"press\": \"D5\", \"draw\": \"Eb5\"}],\n"
    "  \"extra\": [{\"name\": \"drone\", \"finger\": \"thumb\", \"press\": \"G3\"}]},\n"
    " \"air\": {\"hand\": \"right\", \"finger\": \"thumb\"}}\n";

static const char TUNE[] = "X:1\nT:Four notes\x01 and more\nM:4/4\nL:1/4\nK:G\n"
                           "G {d}A \"^air\"B {e}^A|\n";

static SrInstrument* instrument;
static SrPhrase* phrase;
static size_t button_g;
static size_t button_b;
static size_t button_d;

static int
prepare(void** const state)
{
  (void)state;
  SrError error;
  char words[1024];
  if (sr_instrument_read_text(LAYOUT, strlen(LAYOUT), "small.json", &instrument, &error) ||
      sr_phrase_read_text(TUNE, strlen(TUNE), "tune", NULL, &phrase, &error)) {
    fprintf(stderr, "%s\n", sr_error_print(&error, words, sizeof(words)));
    return 1;
  }
  button_g = sr_instrument_find(instrument, "L1-1");
  button_b = sr_instrument_find(instrument, "L1-2");
  button_d = sr_instrument_find(instrument, "R1-1");
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  sr_instrument_del(instrument);
  sr_phrase_del(phrase);
  return 0;
}

/// A plan by hand: G press, A draw without its cut, B press with air, B flat draw with another cut.
static void
fill_plan(SrPlannedNote notes[4], SrPlan* const plan)
{
  const SrPlannedNote made[4] = {{.button = button_g,
                                  .finger = SR_FINGER_MIDDLE,
                                  .direction = SR_DIRECTION_PRESS,
                                  .cut_button = -1,
                                  .cut_midi = -1,
                                  .before = 60,
                                  .after = 50},
                                 {.button = button_g,
                                  .finger = SR_FINGER_MIDDLE,
                                  .direction = SR_DIRECTION_DRAW,
                                  .cut_button = -1,
                                  .cut_midi = -1,
                                  .before = 50,
                                  .after = 58,
                                  .turns = true},
                                 {.button = button_b,
                                  .finger = SR_FINGER_INDEX,
                                  .direction = SR_DIRECTION_PRESS,
                                  .cut_button = -1,
                                  .cut_midi = -1,
                                  .before = 58,
                                  .after = 20,
                                  .air = 30,
                                  .turns = true},
                                 {.button = button_b,
                                  .finger = SR_FINGER_INDEX,
                                  .direction = SR_DIRECTION_DRAW,
                                  .cut_button = (long)button_d,
                                  .cut_midi = 75,
                                  .cut_finger = SR_FINGER_INDEX,
                                  .before = 20,
                                  .after = 120,
                                  .turns = true}};
  memcpy(notes, made, sizeof(made));
  memset(plan, 0, sizeof(*plan));
  plan->notes = notes;
  plan->note_count = 4;
}

static void
what_is_gathered(void** const state)
{
  (void)state;
  SrPlannedNote notes[4];
  SrPlan plan;
  fill_plan(notes, &plan);
  const SrPageStyle style = {.remark = "along the rows", .bpm = 92.5};
  SrPageContent content;
  assert_int_equal(sr_page_content_make(phrase, instrument, &plan, &style, &content, NULL), SR_OK);
  const SrSheetContent* const sheet = &content.sheet;
  assert_string_equal(sheet->title, "Four notes  and more");
  assert_string_equal(sheet->remark, "key G · 92.5 pulses a minute · along the rows");
  assert_string_equal(sheet->caption, "A small box");
  assert_int_equal(sheet->layout.count, 4);
  assert_true(sheet->layout.uses_air);
  const SrDrawnButton* const buttons = sheet->layout.buttons;
  assert_true(buttons[button_g].uses_press && buttons[button_g].uses_draw);
  assert_false(buttons[button_g].cuts_press || buttons[button_g].cuts_draw);
  // The cut
  assert_false(buttons[button_d].uses_press || buttons[button_d].uses_draw);
  assert_true(!buttons[button_d].cuts_press && buttons[button_d].cuts_draw);
  assert_string_equal(buttons[button_g].press, "G4");
  // As the phrase calls it; the other as is usual.
  assert_string_equal(buttons[button_b].draw, "A♯4");
  assert_string_equal(buttons[button_d].draw, "E♭5");
  const size_t drone = sr_instrument_find(instrument, "drone");
  assert_string_equal(buttons[drone].name, "drone");
  assert_string_equal(buttons[drone].draw, "");
  assert_int_equal(buttons[drone].row, 0);

  assert_int_equal(sheet->phrase.stroke_count, 4);
  assert_int_equal(sheet->phrase.bar_count, 1);
  const SrDrawnStroke* const strokes = sheet->phrase.strokes;
  assert_true(fabs(strokes[1].start - 0.25) < 1e-12 && fabs(strokes[1].length - 0.25) < 1e-12);
  assert_true(fabs(strokes[0].before - 0.5) < 1e-12 && fabs(strokes[3].after - 1.0) < 1e-12);
  assert_false(strokes[0].draw || strokes[0].turns || strokes[0].air);
  assert_true(strokes[1].draw && strokes[1].turns);
  assert_true(strokes[2].air);
  assert_int_equal(strokes[0].cut, SR_DRAWN_NO_CUT);
  assert_int_equal(strokes[1].cut, SR_DRAWN_CUT_LEFT_OUT);
  assert_string_equal(strokes[1].cut_name, "D");
  assert_int_equal(strokes[3].cut, SR_DRAWN_CUT);
  assert_string_equal(strokes[3].cut_name, "E♭");
  assert_string_equal(strokes[3].cut_button, "R1-1");
  assert_string_equal(strokes[3].name, "A♯");
  assert_string_equal(strokes[3].octave, "4");
  assert_int_equal(strokes[0].finger, SR_FINGER_MIDDLE);
  assert_int_equal(strokes[3].finger, SR_FINGER_INDEX);
  assert_int_equal(strokes[3].cut_finger, SR_FINGER_INDEX);
  assert_string_equal(strokes[2].air_words, "air");
  assert_string_equal(strokes[1].air_words, "");
  assert_true(fabs(sheet->phrase.bars[0].pulse - 0.25) < 1e-12);
  sr_page_content_clear(&content);
}

static void
files_are_written(void** const state)
{
  (void)state;
  SrPlannedNote notes[4];
  SrPlan plan;
  fill_plan(notes, &plan);
  char* const folder = folder_make();
  static const char* const NAMES[] = {"plan.pdf", "plan.svg", "plan.png"};
  static const char* const STARTS[] = {"%PDF-", "<?xml", "\x89PNG"};
  for (size_t i = 0; i < 6; ++i) {
    char* const path = folder_path(folder, NAMES[i % 3]);
    SrError error;
    const SrStatus status = i < 3 ? sr_page_plan(path, phrase, instrument, &plan, NULL, &error)
                                  : sr_page_layout(path, instrument, NULL, &error);
    assert_int_equal(status, SR_OK);
    char start[5] = "";
    FILE* const file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fread(start, 1, sizeof(start), file), sizeof(start));
    fclose(file);
    assert_memory_equal(start, STARTS[i % 3], strlen(STARTS[i % 3]));
    unlink(path);
    free(path);
  }
  folder_remove(folder);
  free(folder);
}

static void
wrong_plans_are_refused(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const path = folder_path(folder, "plan.pdf");
  SrPlannedNote notes[4];
  SrPlan plan;
  SrError error;
  fill_plan(notes, &plan);
  plan.note_count = 3;
  assert_int_equal(sr_page_plan(path, phrase, instrument, &plan, NULL, &error), SR_BAD_ARGUMENT);
  fill_plan(notes, &plan);
  notes[2].button = 4;
  assert_int_equal(sr_page_plan(path, phrase, instrument, &plan, NULL, &error), SR_BAD_ARGUMENT);
  fill_plan(notes, &plan);
  notes[2].cut_button = 4;
  assert_int_equal(sr_page_plan(path, phrase, instrument, &plan, NULL, &error), SR_BAD_ARGUMENT);
  fill_plan(notes, &plan);
  notes[2].direction = SR_DIRECTION_FREE;
  assert_int_equal(sr_page_plan(path, phrase, instrument, &plan, NULL, &error), SR_BAD_ARGUMENT);
  fill_plan(notes, &plan);
  SrPageStyle style = {.bars_a_line = 9};
  assert_int_equal(sr_page_plan(path, phrase, instrument, &plan, &style, &error), SR_BAD_ARGUMENT);
  style.bars_a_line = 8;
  style.bpm = (double)NAN;
  assert_int_equal(sr_page_plan(path, phrase, instrument, &plan, &style, &error), SR_BAD_ARGUMENT);
  assert_int_not_equal(access(path, F_OK), 0);
  style.bpm = 60.0;
  assert_int_equal(sr_page_plan(path, phrase, instrument, &plan, &style, &error), SR_OK);
  assert_int_equal(access(path, F_OK), 0);
  free(path);
  folder_remove(folder);
  free(folder);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_gathered),
      cmocka_unit_test(files_are_written),
      cmocka_unit_test(wrong_plans_are_refused),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
