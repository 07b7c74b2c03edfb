// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_plan_pins.c
   Pins of notes and cuts in `plan`, what contradicts, cuts that cannot be played, and the buttons
   of cuts in the ABC.

   usage: test_plan_pins STEADYREED EXERCISES
*/

#include "run_program.h"

#include <steadyreed/phrase.h>

#include <jansson.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char* program;
static const char* exercises;
static char* folder;
static char* tune;

#define RUN(...) run_program((const char* const[]){program, __VA_ARGS__, NULL})

#define HEAD "X:1\nT:Pins\nM:6/8\nL:1/8\nK:C\n"
// On 30-c-g: A4 sounds on L1-3 and L2-5 on the draw, on L3-4 on the press. Bar 2 is played twice
#define TUNE HEAD "A{c}A\"_press\"A \"_draw\"A2z|:AGE {D}E2z:|\n"
// Over the highest B no button sounds anything higher on the press
#define TOPMOST HEAD "c'3 {c''}\"_press\"b'3|G3 G3|\n"

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  tune = folder_path(folder, "tune.abc");
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  free(tune);
  free(folder);
  return 0;
}

static void
contradictions_name_both(void** const state)
{
  (void)state;
  file_put(tune, TUNE);
  static const struct {
    const char* options[4];
    const char* words[3];
  } cases[] = {
      {{"--pin", "1:1=L1-3", "--pin", "1:1=L2-5"}, {"pin 1:1=L1-3", "pin 1:1=L2-5", "one note"}},
      {{"--pin", "2:1=L3-4", "--pin", "2:1=L1-3"}, {"pin 2:1=L3-4", "pin 2:1=L1-3", "one note"}},
      {{"--pin", "1:3=L2-5"}, {"pin 1:3=L2-5", "\"_press\"", "line 6"}},
      {{"--pin", "1:4=L3-4"}, {"pin 1:4=L3-4", "\"_draw\"", "line 6"}},
      {{"--cut", "1:2=L1-4", "--cut", "1:2=L1-5"}, {"cut 1:2=L1-4", "cut 1:2=L1-5", "two cuts"}},
      {{"--cut", "1:2=L1-4", "--cut", "1:2=written"}, {"cut 1:2=L1-4", "cut 1:2=written", ""}},
      {{"--pin", "1:2=L1-3", "--cut", "1:2=L1-3"}, {"pin 1:2=L1-3", "cut 1:2=L1-3", "one button"}},
      // A4 on L3-4 is on the press, where L1-2 sounds D4
      {{"--pin", "1:2=L3-4", "--cut", "1:2=L1-2"}, {"pin 1:2=L3-4", "cut 1:2=L1-2", "above"}},
      {{"--cut", "1:2=L2-1"}, {"cut 1:2=L2-1", "1 to 9 semitones", "above"}},
      // A strike is below its note
      {{"--cut", "2:4=L1-5"}, {"cut 2:4=L1-5", "1 to 9 semitones", "below"}},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const char* const* const options = cases[i].options;
    ProgramRun run = RUN("plan", tune, options[0], options[1], options[2], options[3]);
    assert_string_equal(run.output, "");
    for (size_t w = 0; w < 3; ++w) {
      if (run.status != 2 || !strstr(run.trouble, cases[i].words[w])) {
        print_error("%s %s: status %d, %s", options[0], options[1], run.status, run.trouble);
      }
      assert_int_equal(run.status, 2);
      assert_non_null(strstr(run.trouble, cases[i].words[w]));
    }
    run_clear(&run);
  }
}

static void
what_does_not_exist_is_named(void** const state)
{
  (void)state;
  file_put(tune, TUNE);
  static const char* const cases[][3] = {
      {"--pin", "1:5=L1-3", "bar 1 has no note 5"},
      // Bar 2 has four notes, however often it is played
      {"--pin", "2:5=L1-3", "bar 2 has no note 5"},
      {"--pin", "3:1=L1-3", "bar 3 has no note 1"},
      {"--pin", "1:0=L1-3", "bar 1 has no note 0"},
      {"--pin", "1:1=L9-3", "has no button L9-3"},
      {"--pin", "1:1=written", "has no button written"},
      {"--pin", "1:1=", "such as 2:3=L1-4"},
      {"--pin", "1=L1-3", "such as 2:3=L1-4"},
      {"--pin", "-1:1=L1-3", "such as 2:3=L1-4"},
      {"--pin", "1:99999999999=L1-3", "such as 2:3=L1-4"},
      {"--pin", "1: 1=L1-3", "such as 2:3=L1-4"},
      {"--cut", "1:1=L1-3", "has no cut or strike"},
      {"--cut", "1:1=written", "has no cut or strike"},
      {"--cut", "1:2=L9-3", "has no button L9-3"},
      {"--cut", "1:9=written", "bar 1 has no note 9"},
      {"--cut", "1:2", "2:3=written"},
      {"--cut", "", "2:3=written"},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ProgramRun run = RUN("plan", tune, cases[i][0], cases[i][1]);
    if (run.status != 2 || !strstr(run.trouble, cases[i][2])) {
      print_error("%s %s: status %d, %s", cases[i][0], cases[i][1], run.status, run.trouble);
    }
    assert_int_equal(run.status, 2);
    assert_string_equal(run.output, "");
    assert_non_null(strstr(run.trouble, cases[i][2]));
    run_clear(&run);
  }
}

/// The notes of the first plan; decref() `json` afterwards.
static const json_t*
notes_of(ProgramRun run, json_t** const json)
{
  if (run.status) {
    print_error("%s", run.trouble);
  }
  assert_int_equal(run.status, 0);
  *json = json_loads(run.output, 0, NULL);
  assert_non_null(*json);
  run_clear(&run);
  return json_object_get(json_array_get(json_object_get(*json, "plans"), 0), "notes");
}

static const char*
button_of(const json_t* const notes, const size_t note)
{
  return json_string_value(json_object_get(json_array_get(notes, note), "button"));
}

/// The same pin twice is no contradiction, and a repeated bar is pinned each time.
static void
pins_hold_each_time(void** const state)
{
  (void)state;
  file_put(tune, TUNE);
  static const char* const buttons[] = {"L1-3", "L2-5", "L3-4"};
  for (size_t i = 0; i < 3; ++i) {
    char pin[32];
    snprintf(pin, sizeof(pin), "2:1=%s", buttons[i]);
    json_t* json;
    const json_t* const notes =
        notes_of(RUN("plan", tune, "--json", "--pin", pin, "--pin", pin), &json);
    assert_int_equal(json_array_size(notes), 12);
    assert_string_equal(button_of(notes, 4), buttons[i]);
    assert_string_equal(button_of(notes, 8), buttons[i]);
    json_decref(json);
  }
}

static void
a_cut_that_cannot_be_played_is_reported(void** const state)
{
  (void)state;
  file_put(tune, TOPMOST);
  json_t* json;
  const json_t* const notes = notes_of(RUN("plan", tune, "--json"), &json);
  assert_int_equal(json_array_size(notes), 4);
  for (size_t i = 0; i < 4; ++i) {
    const json_t* const missing = json_object_get(json_array_get(notes, i), "cut_missing");
    assert_true(json_is_boolean(missing));
    assert_int_equal(json_is_true(missing), i == 1);
  }
  json_decref(json);
  static const char words[] = "bar 1, note 2 (press)";
  ProgramRun run = RUN("plan", tune);
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, words));
  assert_string_equal(run.trouble, "");
  run_clear(&run);
  run = RUN("plan", tune, "--abc");
  assert_int_equal(run.status, 0);
  assert_null(strstr(run.output, words));
  assert_non_null(strstr(run.trouble, words));
  assert_null(strstr(run.output, "\"^("));
  run_clear(&run);
  // Where all can be played, nothing is said
  file_put(tune, TUNE);
  run = RUN("plan", tune, "--abc");
  assert_string_equal(run.trouble, "");
  run_clear(&run);
}

static SrPhrase*
phrase_of(const char* const text)
{
  SrPhrase* phrase = NULL;
  SrError error;
  if (sr_phrase_read_text(text, strlen(text), "plan", NULL, &phrase, &error) != SR_OK) {
    print_error("%u:%u %s\n%s\n", error.line, error.column, error.message, text);
    fail();
  }
  return phrase;
}

/// The output of `plan --abc` on a text, with some more options.
static char*
abc_of(const char* const text, const char* const option, const char* const value)
{
  file_put(tune, text);
  ProgramRun run = RUN("plan", tune, "--abc", option, value);
  if (run.status) {
    print_error("%s", run.trouble);
  }
  assert_int_equal(run.status, 0);
  char* const output = strdup(run.output);
  run_clear(&run);
  return output;
}

static size_t
count_of(const char* const text, const char* const word)
{
  size_t count = 0;
  for (const char* c = text; (c = strstr(c, word)); ++c) {
    ++count;
  }
  return count;
}

/// Each cut has its button; a second run replaces it, and our reader takes nothing from it.
static void
abc_has_the_buttons_of_cuts(void** const state)
{
  (void)state;
  static const char* const names[] = {"first-cuts.abc", "three-as.abc", "twos.abc"};
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    char* const path = folder_path(exercises, names[i]);
    ProgramRun run = RUN("plan", path, "--abc");
    assert_int_equal(run.status, 0);
    SrPhrase* before = NULL;
    assert_int_equal(sr_phrase_read_file(path, NULL, &before, NULL), SR_OK);
    SrPhrase* const after = phrase_of(run.output);
    size_t cuts = 0;
    assert_int_equal(sr_phrase_note_count(after), sr_phrase_note_count(before));
    for (size_t n = 0; n < sr_phrase_note_count(before); ++n) {
      const SrPhraseNote* const one = sr_phrase_note(before, n);
      const SrPhraseNote* const other = sr_phrase_note(after, n);
      assert_int_equal(one->midi, other->midi);
      assert_int_equal(one->cut_midi, other->cut_midi);
      cuts += one->cut_midi >= 0;
    }
    assert_true(cuts > 0);
    assert_int_equal(count_of(run.output, "\"^("), cuts);
    char* const again = abc_of(run.output, NULL, NULL);
    assert_string_equal(again, run.output);
    free(again);
    sr_phrase_del(before);
    sr_phrase_del(after);
    run_clear(&run);
    free(path);
  }
}

/// Whatever instrument and style it is for the second time, nothing of the first is left.
static void
buttons_of_another_plan_are_replaced(void** const state)
{
  (void)state;
  static const char fixed[] =
      HEAD "\"_draw\"A{c}\"_draw\"A\"_press\"G {B}\"_press\"G2z|\"^mine\"\"_draw\"A6|\n";
  char* const first = abc_of(fixed, NULL, NULL);
  char* const other = abc_of(first, "--instrument", "38-c-g-example");
  char* const direct = abc_of(fixed, "--instrument", "38-c-g-example");
  assert_string_equal(other, direct);
  char* const back = abc_of(other, NULL, NULL);
  assert_string_equal(back, first);
  assert_int_equal(count_of(first, "\"^("), 2);
  assert_non_null(strstr(first, "\"^mine\""));
  free(back);
  free(direct);
  free(other);
  free(first);
}

/// A button outside the rows may have any name.
static void
named_buttons_are_replaced(void** const state)
{
  (void)state;
  char* const layout = folder_path(folder, "box.json");
  file_put(layout, "{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"A box\",\n"
                   "\"left\": {\"fingers\": [\"middle\", \"index\"],\n"
                   "\"row 1\": [{\"press\": \"G4\", \"draw\": \"A4\"}, "
                   "{\"press\": \"B4\", \"draw\": \"C5\"}],\n"
                   "\"extra\": [{\"name\": \"drone\", \"finger\": \"thumb\", \"press\": \"C4\", "
                   "\"draw\": \"C4\"}]},\n"
                   "\"air\": {\"hand\": \"right\", \"finger\": \"thumb\"}}\n");
  static const char text[] = HEAD "\"_press\"C{B}\"_press\"G\"_press\"C \"_draw\"C2z|\n";
  char* const first = abc_of(text, "--instrument", layout);
  assert_int_equal(count_of(first, "\"^drone\""), 3);
  char* const again = abc_of(first, "--instrument", layout);
  assert_string_equal(again, first);
  free(again);
  free(first);
  free(layout);
}

/// What is written below a note holds each time it is played, so it is left out where it would not.
static void
a_direction_is_written_if_it_always_holds(void** const state)
{
  (void)state;
  char* const path = folder_path(exercises, "session-jig.abc");
  static const char* const styles[] = {"across", "along"};
  for (size_t i = 0; i < 2; ++i) {
    json_t* json;
    const json_t* const notes = notes_of(RUN("plan", path, "--json", "--style", styles[i]), &json);
    ProgramRun run = RUN("plan", path, "--abc", "--style", styles[i]);
    assert_int_equal(run.status, 0);
    SrPhrase* const planned = phrase_of(run.output);
    assert_int_equal(sr_phrase_note_count(planned), json_array_size(notes));
    size_t fixed = 0;
    for (size_t n = 0; n < json_array_size(notes); ++n) {
      const char* const direction =
          json_string_value(json_object_get(json_array_get(notes, n), "direction"));
      const SrDirection written = sr_phrase_note(planned, n)->direction;
      fixed += written != SR_DIRECTION_FREE;
      assert_true(written == SR_DIRECTION_FREE ||
                  (written == SR_DIRECTION_PRESS) == !strcmp(direction, "press"));
    }
    assert_true(fixed > 4);
    sr_phrase_del(planned);
    run_clear(&run);
    json_decref(json);
  }
  free(path);
}

int
main(const int argc, char** const argv)
{
  if (argc != 3) {
    return 2;
  }
  program = argv[1];
  exercises = argv[2];
#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, prepare, clean_up)
  const struct CMUnitTest tests[] = {
      IN_FOLDER(contradictions_name_both),    IN_FOLDER(what_does_not_exist_is_named),
      IN_FOLDER(pins_hold_each_time),         IN_FOLDER(a_cut_that_cannot_be_played_is_reported),
      IN_FOLDER(abc_has_the_buttons_of_cuts), IN_FOLDER(buttons_of_another_plan_are_replaced),
      IN_FOLDER(named_buttons_are_replaced),  IN_FOLDER(a_direction_is_written_if_it_always_holds),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
