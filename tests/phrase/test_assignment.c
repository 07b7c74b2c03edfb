// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_assignment.c
   What a file asks for, read and written; abc2midi, a reader of ABC that knows nothing of it, gives
   the same notes at the same times with and without (ABC 2.1, section 11: unknown directives are
   ignored). It keeps the lines as texts in its MIDI file, which midicsv shows.

   usage: test_assignment ABC2MIDI|"" MIDICSV|"" PHRASE.abc...
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "phrase_text.h"
#include "run_program.h"

#include <steadyreed/assignment.h>
#include <steadyreed/drill.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* abc_to_midi;
static const char* midi_to_csv;
static char** phrases;
static size_t phrase_count;

#define TUNE(directives) "X:1\nT:One\nM:4/4\nL:1/8\n" directives "K:C\nCDEF GABc|cBAG FEDC|]\n"

static SrAssignment
read_well(const char* const abc)
{
  SrAssignment assignment;
  SrError error = {0};
  if (sr_assignment_read_text(abc, strlen(abc), "test", NULL, &assignment, &error) != SR_OK) {
    fail_msg("%s: %s", abc, error.message);
  }
  return assignment;
}

static void
assert_same_assignment(const SrAssignment* const a, const SrAssignment* const b)
{
  assert_int_equal(a->first_bar, b->first_bar);
  assert_int_equal(a->last_bar, b->last_bar);
  assert_int_equal(a->part, b->part);
  assert_int_equal(a->click, b->click);
  assert_int_equal(a->on_bars, b->on_bars);
  assert_int_equal(a->off_bars, b->off_bars);
  assert_int_equal(a->ladder, b->ladder);
}

static void
each_directive_is_read(void** const state)
{
  (void)state;
  static const struct {
    const char* abc;
    SrAssignment wanted;
  } cases[] = {
      {TUNE(""), {.first_bar = 0}},
      {TUNE("%%steadyreed:bars 1-2\n"), {.first_bar = 1, .last_bar = 2}},
      {TUNE("%%steadyreed:bars 2\n"), {.first_bar = 2, .last_bar = 2}},
      {TUNE("%%steadyreed:bars 0-1\n"), {.first_bar = 0, .last_bar = 1}},
      {TUNE("%%steadyreed:part B\n"), {.part = 'B'}},
      {TUNE("%%steadyreed:click pulses\n"), {.click = SR_ASSIGNED_CLICK_PULSES}},
      {TUNE("%%steadyreed:click bars\n"), {.click = SR_ASSIGNED_CLICK_BARS}},
      {TUNE("%%steadyreed:click none\n"), {.click = SR_ASSIGNED_CLICK_NONE}},
      {TUNE("%%steadyreed:silent-bars 4:2\n"), {.on_bars = 4, .off_bars = 2}},
      {TUNE("%%steadyreed:silent-bars 1:0\n"), {.on_bars = 1, .off_bars = 0}},
      {TUNE("%%steadyreed:ladder yes\n"), {.ladder = SR_ASSIGNED_LADDER_YES}},
      {TUNE("%%steadyreed:ladder no\n"), {.ladder = SR_ASSIGNED_LADDER_NO}},
      // As an instruction field, with a remark, with other spaces and line ends
      {TUNE("I:steadyreed:bars 1-2\n"), {.first_bar = 1, .last_bar = 2}},
      {TUNE("%%steadyreed:bars 1-2 % for Monday\n"), {.first_bar = 1, .last_bar = 2}},
      {TUNE("%% steadyreed:bars\t1-2  \r\n"), {.first_bar = 1, .last_bar = 2}},
      // A part and bars exclude each other: the last counts
      {TUNE("%%steadyreed:part B\n%%steadyreed:bars 1-2\n"), {.first_bar = 1, .last_bar = 2}},
      {TUNE("%%steadyreed:bars 1-2\n%%steadyreed:part B\n"), {.part = 'B'}},
      // Of a later version, of another program, and what only looks like it
      {TUNE("%%steadyreed:colour blue\n"), {.first_bar = 0}},
      {TUNE("%%steadyreed:barsx 1-2\n"), {.first_bar = 0}},
      {TUNE("%%other:bars 1-2\n"), {.first_bar = 0}},
      {TUNE("% steadyreed:bars 1-2\n"), {.first_bar = 0}},
      {TUNE("%%bars 1-2\n"), {.first_bar = 0}},
      // For all tunes of the file, and a tune's own
      {"%%steadyreed:bars 2\n%%steadyreed:click bars\n\n" TUNE("%%steadyreed:bars 1\n"),
       {.first_bar = 1, .last_bar = 1, .click = SR_ASSIGNED_CLICK_BARS}},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const SrAssignment read = read_well(cases[i].abc);
    assert_same_assignment(&read, &cases[i].wanted);
    // What is read does not choose: that is for who practises
    SrPhrase* const phrase = sr_test_phrase(cases[i].abc, NULL);
    assert_int_equal(sr_phrase_note_count(phrase), 16);
    sr_phrase_del(phrase);
  }
}

static void
wrong_values_are_refused_with_their_line(void** const state)
{
  (void)state;
  static const char* const wrong[] = {"bars",
                                      "bars 0",
                                      "bars 2-1",
                                      "bars 1-2-3",
                                      "bars 1:2",
                                      "bars one",
                                      "bars 99999",
                                      "part",
                                      "part b",
                                      "part AB",
                                      "click",
                                      "click loud",
                                      "silent-bars 4",
                                      "silent-bars 0:4",
                                      "silent-bars 65:1",
                                      "silent-bars 4:65",
                                      "silent-bars 4-4",
                                      "ladder",
                                      "ladder maybe",
                                      "bars 99999999999999999999999999"};
  for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); ++i) {
    char abc[256];
    SrAssignment assignment;
    SrError error = {0};
    snprintf(abc, sizeof(abc), "X:1\nT:One\nM:4/4\n%%%%steadyreed:%s\nL:1/8\nK:C\nCDEF GABc|]\n",
             wrong[i]);
    assert_int_equal(sr_assignment_read_text(abc, strlen(abc), "test", NULL, &assignment, &error),
                     SR_BAD_SYNTAX);
    assert_int_equal(error.line, 4);
    assert_string_equal(error.file, "test");
    assert_int_equal(assignment.last_bar, 0);
  }
}

static void
words_name_what_is_asked_for(void** const state)
{
  (void)state;
  static const struct {
    SrAssignment assignment;
    const char* words;
  } cases[] = {
      {{.first_bar = 0}, ""},
      {{.first_bar = 3, .last_bar = 3}, "bar 3"},
      {{.first_bar = 1, .last_bar = 4, .on_bars = 4, .off_bars = 2},
       "bars 1 to 4, 4 bars with the click and 2 without"},
      {{.part = 'B', .click = SR_ASSIGNED_CLICK_BARS, .on_bars = 1, .off_bars = 0},
       "part B, a click on each bar, the click in every bar"},
      {{.click = SR_ASSIGNED_CLICK_NONE,
        .on_bars = 4,
        .off_bars = 4,
        .ladder = SR_ASSIGNED_LADDER_YES},
       "no click, up the tempo ladder"},
      {{.ladder = SR_ASSIGNED_LADDER_NO}, ""},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char words[SR_ASSIGNMENT_WORDS_SIZE];
    assert_string_equal(sr_assignment_words(&cases[i].assignment, words), cases[i].words);
  }
}

/// What abc2midi makes of a file, as text without its remarks; free() it.
static char*
midi_of(const char* const path, const char* const out)
{
  ProgramRun run = run_program((const char* const[]){abc_to_midi, path, "1", "-o", out, NULL});
  // It quotes what it does not understand
  assert_null(strstr(run.output, "steadyreed:"));
  assert_null(strstr(run.trouble, "steadyreed:"));
  run_clear(&run);
  run = run_program((const char* const[]){midi_to_csv, out, NULL});
  assert_int_equal(run.status, 0);
  char* const events = calloc(1, strlen(run.output) + 1);
  assert_non_null(events);
  for (char* line = strtok(run.output, "\n"); line; line = strtok(NULL, "\n")) {
    if (!strstr(line, "Text_t")) {
      strcat(strcat(events, line), "\n");
    }
  }
  run_clear(&run);
  assert_non_null(strstr(events, "Note_on_c"));
  return events;
}

/// Each tune, written with an assignment, is the same tune, and asks for what was written.
static void
written_tunes_are_the_same_tunes(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const out = folder_path(folder, "out.abc");
  char* const again = folder_path(folder, "again.abc");
  const SrAssignment full = {.first_bar = 1,
                             .last_bar = 2,
                             .click = SR_ASSIGNED_CLICK_BARS,
                             .on_bars = 4,
                             .off_bars = 4,
                             .ladder = SR_ASSIGNED_LADDER_YES};
  const SrAssignment none = {.first_bar = 0};
  for (size_t i = 0; i < phrase_count; ++i) {
    char* text = NULL;
    SrError error = {0};
    SrPhrase* phrase = NULL;
    SrPhrase* written = NULL;
    SrAssignment read;
    assert_int_equal(sr_phrase_read_file(phrases[i], NULL, &phrase, &error), SR_OK);
    assert_int_equal(sr_assignment_write(phrases[i], NULL, &full, 77.0, &text, &error), SR_OK);
    file_put(out, text);
    free(text);
    assert_int_equal(sr_phrase_read_file(out, NULL, &written, &error), SR_OK);
    char* const notes = sr_test_notes(phrase);
    char* const same = sr_test_notes(written);
    assert_string_equal(notes, same);
    assert_string_equal(sr_phrase_title(phrase), sr_phrase_title(written));
    assert_true(fabs(sr_phrase_tempo(written) - 77.0) < 1e-9);
    assert_int_equal(sr_assignment_read_file(out, NULL, &read, &error), SR_OK);
    assert_same_assignment(&read, &full);
    // Written over again, without a tempo: the old one stays, the directives go
    assert_int_equal(sr_assignment_write(out, NULL, &none, (double)NAN, &text, &error), SR_OK);
    assert_null(strstr(text, "steadyreed:"));
    file_put(again, text);
    free(text);
    if (*abc_to_midi && *midi_to_csv) {
      char* const midi = folder_path(folder, "a.mid");
      char* const with = midi_of(out, midi);
      char* const plain = midi_of(again, midi);
      assert_string_equal(with, plain);
      free(with);
      free(plain);
      free(midi);
    }
    sr_phrase_del(written);
    written = NULL;
    assert_int_equal(sr_phrase_read_file(again, NULL, &written, &error), SR_OK);
    assert_true(fabs(sr_phrase_tempo(written) - 77.0) < 1e-9);
    free(notes);
    free(same);
    sr_phrase_del(phrase);
    sr_phrase_del(written);
  }
  free(out);
  free(again);
  folder_remove(folder);
  free(folder);
}

/// Of several tunes only the chosen one is written, with what applies to all.
static void
one_tune_of_several(void** const state)
{
  (void)state;
  static const char abc[] = "L:1/16\nI:steadyreed:part A\nQ:1/4=50\n\n"
                            "X:1\nT:One\nM:2/4\nK:C\nCDEF|]\n\n"
                            "X:2\nT:Two\nM:6/8\nQ:60\nK:G\nGAB c2d|\n% remark\nB6|]\n\n"
                            "X:3\nT:Three\nK:D\nD|]\n";
  static const char wanted[] = "L:1/16\nQ:1/4=50\n\n"
                               "X:2\nT:Two\nM:6/8\nQ:3/8=90\n%%steadyreed:bars 2\nK:G\n"
                               "GAB c2d|\n% remark\nB6|]\n";
  char* const folder = folder_make();
  char* const path = folder_path(folder, "tunes.abc");
  file_put(path, abc);
  const SrPhraseChoice choice = {.tune = 2, .first_bar = 1, .last_bar = 1, .transpose = 3};
  const SrAssignment bars = {.first_bar = 2, .last_bar = 2};
  char* text = NULL;
  SrError error = {0};
  assert_int_equal(sr_assignment_write(path, &choice, &bars, 90.0, &text, &error), SR_OK);
  assert_string_equal(text, wanted);
  free(text);
  assert_int_equal(sr_assignment_write(path, &choice, &bars, 90.5, &text, &error), SR_BAD_ARGUMENT);
  assert_null(text);
  const SrPhraseChoice missing = {.tune = 9};
  assert_int_equal(sr_assignment_write(path, &missing, &bars, 90.0, &text, &error), SR_NOT_FOUND);
  assert_null(text);
  free(path);
  folder_remove(folder);
  free(folder);
}

/// A steady drill says by itself that the click goes away.
static void
the_steady_drill_asks_for_its_silent_bars(void** const state)
{
  (void)state;
  SrDrillPlan plan = sr_drill_plan_default(SR_DRILL_STEADY);
  char* text = NULL;
  plan.with_click = 2;
  plan.without_click = 6;
  assert_int_equal(sr_drill_write(&plan, &text, NULL), SR_OK);
  SrAssignment read = read_well(text);
  assert_int_equal(read.on_bars, 2);
  assert_int_equal(read.off_bars, 6);
  free(text);
  plan.without_click = 0;
  assert_int_equal(sr_drill_write(&plan, &text, NULL), SR_OK);
  read = read_well(text);
  assert_int_equal(read.on_bars, 0);
  free(text);
}

int
main(const int argc, char** const argv)
{
  if (argc < 4) {
    fprintf(stderr, "usage: %s ABC2MIDI|\"\" MIDICSV|\"\" PHRASE.abc...\n", argv[0]);
    return 2;
  }
  abc_to_midi = argv[1];
  midi_to_csv = argv[2];
  phrases = argv + 3;
  phrase_count = (size_t)(argc - 3);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_directive_is_read),
      cmocka_unit_test(wrong_values_are_refused_with_their_line),
      cmocka_unit_test(words_name_what_is_asked_for),
      cmocka_unit_test(written_tunes_are_the_same_tunes),
      cmocka_unit_test(one_tune_of_several),
      cmocka_unit_test(the_steady_drill_asks_for_its_silent_bars),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
