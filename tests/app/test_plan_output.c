// SPDX-License-Identifier: GPL-3.0-or-later

// What `plan` writes: JSON, ABC, drills and the table, of shipped exercises.

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
static const char* jig;
static const char* take;
static const char* take_phrase;
static const char* repeated;

#define RUN(...) run_program((const char* const[]){program, __VA_ARGS__, NULL})

static SrPhrase*
phrase_of(const char* const text, const int tune)
{
  SrPhrase* phrase = NULL;
  SrError error;
  const SrPhraseChoice choice = {.tune = tune};
  if (sr_phrase_read_text(text, strlen(text), "plan", &choice, &phrase, &error) != SR_OK) {
    print_error("%u:%u %s\n%s\n", error.line, error.column, error.message, text);
    fail();
  }
  return phrase;
}

static void
json_tells_each_note(void** const state)
{
  (void)state;
  ProgramRun run = RUN("plan", jig, "--bars", "1-4", "--json", "--tempo", "90");
  assert_int_equal(run.status, 0);
  json_t* const json = json_loads(run.output, 0, NULL);
  assert_string_equal(json_string_value(json_object_get(json, "format")), "steadyreed-plan");
  const json_t* const plans = json_object_get(json, "plans");
  assert_int_equal(json_array_size(plans), 3);
  long last = 0;
  for (size_t p = 0; p < 3; ++p) {
    const json_t* const plan = json_array_get(plans, p);
    const json_t* const notes = json_object_get(plan, "notes");
    const long cost = (long)json_integer_value(json_object_get(plan, "cost"));
    long sum = 0;
    json_int_t opening = -1;
    assert_int_equal(json_array_size(notes), 24);
    for (size_t i = 0; i < 24; ++i) {
      const json_t* const note = json_array_get(notes, i);
      const json_int_t before = json_integer_value(json_object_get(note, "before"));
      const json_int_t after = json_integer_value(json_object_get(note, "after"));
      const bool draw = !strcmp(json_string_value(json_object_get(note, "direction")), "draw");
      assert_true(before >= 0 && before <= 120 && after >= 0 && after <= 120);
      assert_true(opening < 0 || opening == before);
      assert_true(draw == (after > before));
      opening = after;
      sum += (long)json_integer_value(json_object_get(note, "cost"));
    }
    assert_int_equal(sum, cost);
    assert_true(cost >= last);
    last = p == 0 ? cost : last;
  }
  json_decref(json);
  run_clear(&run);
}

/// The ABC with the plan in it is the same tune.
static void
abc_with_the_plan_is_the_same_tune(void** const state)
{
  (void)state;
  ProgramRun run = RUN("plan", jig, "--abc");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "\"^L1-"));
  SrPhrase* const planned = phrase_of(run.output, 0);
  SrPhrase* plain = NULL;
  assert_int_equal(sr_phrase_read_file(jig, NULL, &plain, NULL), SR_OK);
  assert_int_equal(sr_phrase_note_count(planned), sr_phrase_note_count(plain));
  for (size_t i = 0; i < sr_phrase_note_count(plain); ++i) {
    const SrPhraseNote* const a = sr_phrase_note(planned, i);
    const SrPhraseNote* const b = sr_phrase_note(plain, i);
    assert_int_equal(a->midi, b->midi);
    assert_int_equal(a->cut_midi, b->cut_midi);
    assert_int_equal(a->bar, b->bar);
    assert_true(sr_fraction_value(a->start) == sr_fraction_value(b->start));
  }
  sr_phrase_del(planned);
  sr_phrase_del(plain);
  run_clear(&run);
}

/// With more cuts it is the same tune still, and has more of them.
static void
more_cuts_leave_the_tune(void** const state)
{
  (void)state;
  ProgramRun run = RUN("plan", jig, "--abc", "--more-cuts");
  assert_int_equal(run.status, 0);
  SrPhrase* const planned = phrase_of(run.output, 0);
  SrPhrase* plain = NULL;
  assert_int_equal(sr_phrase_read_file(jig, NULL, &plain, NULL), SR_OK);
  assert_int_equal(sr_phrase_note_count(planned), sr_phrase_note_count(plain));
  size_t more = 0;
  for (size_t i = 0; i < sr_phrase_note_count(plain); ++i) {
    const SrPhraseNote* const a = sr_phrase_note(planned, i);
    const SrPhraseNote* const b = sr_phrase_note(plain, i);
    assert_int_equal(a->midi, b->midi);
    assert_true(b->cut_midi < 0 || a->cut_midi == b->cut_midi);
    assert_true(a->cut_midi < 0 || (a->cut_midi > a->midi && a->cut_midi <= a->midi + 9));
    more += a->cut_midi >= 0 && b->cut_midi < 0;
  }
  assert_true(more > 4);
  sr_phrase_del(planned);
  sr_phrase_del(plain);
  run_clear(&run);
}

/// Each drill is ABC that holds a stretch of the phrase, again and again.
static void
joins_are_stretches_of_the_phrase(void** const state)
{
  (void)state;
  SrPhrase* whole = NULL;
  assert_int_equal(sr_phrase_read_file(jig, NULL, &whole, NULL), SR_OK);
  ProgramRun run = RUN("plan", jig, "--joins");
  assert_int_equal(run.status, 0);
  for (int tune = 1; tune <= 2; ++tune) {
    SrPhrase* const drill = phrase_of(run.output, tune);
    const size_t count = sr_phrase_note_count(drill);
    assert_int_equal(count % 4, 0);
    const size_t once = count / 4;
    assert_true(once >= 2);
    bool found = false;
    for (size_t at = 0; !found && at + once <= sr_phrase_note_count(whole); ++at) {
      found = true;
      for (size_t i = 0; found && i < once; ++i) {
        const SrPhraseNote* const a = sr_phrase_note(drill, i);
        const SrPhraseNote* const b = sr_phrase_note(whole, at + i);
        found = a->midi == b->midi && a->cut_midi == b->cut_midi &&
                sr_fraction_value(a->length) == sr_fraction_value(b->length);
      }
    }
    assert_true(found);
    for (size_t i = 0; i < count; ++i) {
      assert_int_equal(sr_phrase_note(drill, i)->midi, sr_phrase_note(drill, i % once)->midi);
      assert_int_equal(sr_phrase_note(drill, i)->cut_midi,
                       sr_phrase_note(drill, i % once)->cut_midi);
    }
    sr_phrase_del(drill);
  }
  sr_phrase_del(whole);
  run_clear(&run);
}

/// Graces of several notes are in the tune, and in no plan; the sounds of a chord are in both.
static void
what_is_left_out_is_reported(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const path = folder_path(folder, "rolls.abc");
  FILE* const file = fopen(path, "w");
  assert_non_null(file);
  fputs("X:1\nT:Rolls\nM:4/4\nL:1/4\nK:C\nG{AGF}G [CEG] {A}G|]\n", file);
  fclose(file);
  ProgramRun run = RUN("plan", path);
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "Not planned: 1 roll or grace of more than one note"));
  assert_null(strstr(run.output, "lower note"));
  // The E and the C under the G
  assert_non_null(strstr(run.output, "E4  L2-4  with  middle"));
  assert_non_null(strstr(run.output, "C4  L2-3  with  ring"));
  run_clear(&run);
  run = RUN("plan", path, "--json");
  json_t* const json = json_loads(run.output, 0, NULL);
  const json_t* const notes =
      json_object_get(json_array_get(json_object_get(json, "plans"), 0), "notes");
  static const int left_out[] = {0, 3, 0, 0};
  static const size_t sounds[] = {0, 0, 2, 0};
  assert_int_equal(json_array_size(notes), 4);
  for (size_t i = 0; i < 4; ++i) {
    assert_int_equal(json_integer_value(json_object_get(json_array_get(notes, i), "not_planned")),
                     left_out[i]);
    assert_int_equal(json_array_size(json_object_get(json_array_get(notes, i), "chord")),
                     sounds[i]);
  }
  json_decref(json);
  run_clear(&run);
  folder_remove(folder);
  free(path);
  free(folder);
}

/// A tune with repeats: two drills of one and the same join would be one.
static void
no_join_comes_twice(void** const state)
{
  (void)state;
  ProgramRun run = RUN("plan", repeated, "--joins");
  assert_int_equal(run.status, 0);
  const char* bodies[2] = {NULL, NULL};
  size_t found = 0;
  for (const char* at = run.output; found < 2 && (at = strstr(at, "as planned")); ++at) {
    bodies[found++] = strstr(at, "\nK:");
  }
  assert_int_equal(found, 2);
  const size_t length = (size_t)(strstr(bodies[0], "\n\n") - bodies[0]);
  assert_true(strncmp(bodies[0], bodies[1], length) != 0);
  run_clear(&run);
}

/// What went wrong in a take is where its drill is.
static void
joins_go_by_what_went_wrong(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const path = folder_path(folder, "take.json");
  ProgramRun run = RUN("assess", take_phrase, take, "--json", "-o", path);
  assert_int_equal(run.status, 0);
  run_clear(&run);
  run = RUN("plan", take_phrase, "--joins", "--after", path);
  assert_int_equal(run.status, 0);
  // In this take the second E of bar 5 ran into the first
  assert_non_null(strstr(run.output, "T:Join in bar 5"));
  run_clear(&run);
  run = RUN("plan", jig, "--joins", "--after", path);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "Choose the same bars"));
  run_clear(&run);
  run = RUN("plan", take_phrase, "--joins", "--after", take_phrase);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "not an assessment"));
  run_clear(&run);
  // The plan in an assessment: advice names the button
  run = RUN("assess", take_phrase, take, "--instrument", "30-c-g");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "the first E (L2-4, press)"));
  run_clear(&run);
  folder_remove(folder);
  free(path);
  free(folder);
}

static void
the_table_fits_the_screen(void** const state)
{
  (void)state;
  ProgramRun run = RUN("plan", jig, "--bars", "1-8", "--pin", "1:1=L1-2", "--style", "across");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "Plan 1 of"));
  assert_non_null(strstr(run.output, "across the rows"));
  assert_non_null(strstr(run.output, "turn"));
  run_clear(&run);
  run = RUN("plan", jig, "--instrument", "20-c-g");
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "there is no "));
  run_clear(&run);
  run = RUN("plan", "--list");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "38-c-g-example"));
  run_clear(&run);
}

/// The number at the start of a table's row; -1 if it has none.
static long
row_number(const char* const row)
{
  char column[5] = "";
  char* end = column;
  strncpy(column, row, 4);
  const long number = strtol(column, &end, 10);
  return end == column || *end || row[4] != ' ' ? -1 : number;
}

/// Both parts of the tune are repeated, and several of its bars come again.
static void
each_bar_is_written_once(void** const state)
{
  (void)state;
  ProgramRun run = RUN("plan", jig, "--plans", "1");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "\nBars 1 to 8, twice\n"));
  assert_non_null(strstr(run.output, "\nBars 9 to 16, twice\n"));
  long last = 0;
  size_t like = 0;
  const char* const head = strstr(run.output, "\n bar  note");
  assert_non_null(head);
  for (const char* row = head + 1; (row = strchr(row, '\n'));) {
    ++row;
    const long number = row_number(row);
    if (number >= 0) {
      assert_true(number > last);
      last = number;
      const char* const as = strstr(row, " as bar");
      const bool here = as && as < strchr(row, '\n');
      like += here;
      // "and 6": the last bar of several
      last = here && !strncmp(row + 6, "and ", 4) ? strtol(row + 10, NULL, 10) : last;
    }
  }
  assert_int_equal(last, 16);
  assert_true(like >= 2);
  // Low and high D
  assert_non_null(strstr(run.output, " D4 "));
  assert_non_null(strstr(run.output, " D5 "));
  run_clear(&run);
}

/// Column of a row's arrow head in its scale, and whether it points to the left; -1 without one.
static int
arrow_head(const char* const row, bool* const left)
{
  const char* scale = row;
  for (int column = 0; column < 29; ++scale) {
    if (!*scale || *scale == '\n') {
      return -1;
    }
    column += (scale[1] & 0xC0) != 0x80; // a character of UTF-8 has one first byte
  }
  if (*scale != ':' && *scale != '|') {
    return -1;
  }
  int head = -1;
  for (int i = 1; scale[i] != ':' && scale[i] != '|'; ++i) {
    if (scale[i] == '<' || scale[i] == '>') {
      assert_int_equal(head, -1);
      head = i;
      *left = scale[i] == '<';
    } else {
      assert_true(scale[i] == ' ' || scale[i] == '-');
    }
  }
  return head;
}

/// One arrow in each row, to the left on a press, and where the bellows are.
static void
the_bellows_are_an_arrow(void** const state)
{
  (void)state;
  ProgramRun run = RUN("plan", jig, "--bars", "1-4", "--json");
  assert_int_equal(run.status, 0);
  json_t* const json = json_loads(run.output, 0, NULL);
  const json_t* const notes =
      json_object_get(json_array_get(json_object_get(json, "plans"), 0), "notes");
  run_clear(&run);
  run = RUN("plan", jig, "--bars", "1-4");
  int heads[64];
  json_int_t openings[64];
  size_t count = 0;
  for (const char* row = run.output; count < json_array_size(notes) && (row = strchr(row, '\n'));) {
    bool left = false;
    const int head = arrow_head(++row, &left);
    if (head < 0) {
      continue;
    }
    const json_t* const note = json_array_get(notes, count);
    assert_int_equal(left, !strcmp(json_string_value(json_object_get(note, "direction")), "press"));
    heads[count] = head;
    openings[count++] = json_integer_value(json_object_get(note, "after"));
  }
  assert_int_equal(count, json_array_size(notes));
  bool differ = false;
  for (size_t i = 0; i < count; ++i) {
    for (size_t k = 0; k < count; ++k) {
      assert_true(openings[i] <= openings[k] ? heads[i] <= heads[k] : heads[i] >= heads[k]);
      differ = differ || heads[i] > heads[k] + 1;
    }
  }
  assert_true(differ);
  assert_null(strstr(run.output, "["));
  json_decref(json);
  run_clear(&run);
}

/// At most six reasons for single notes, from the first to the last that there are.
static void
reasons_are_spread(void** const state)
{
  (void)state;
  ProgramRun run = RUN("plan", jig, "--bars", "9-16", "--plans", "1", "--json");
  assert_int_equal(run.status, 0);
  json_t* const json = json_loads(run.output, 0, NULL);
  const json_t* const notes =
      json_object_get(json_array_get(json_object_get(json, "plans"), 0), "notes");
  // Those that differ, of the bars that are written: 13 and 14 are as 9 and 10
  const char* reasons[64];
  size_t distinct = 0;
  for (size_t i = 0; i < json_array_size(notes); ++i) {
    const json_t* const note = json_array_get(notes, i);
    const json_int_t bar = json_integer_value(json_object_get(note, "bar"));
    const char* const reason = json_string_value(json_object_get(note, "reason"));
    bool again = !reason || strstr(reason, "either way") || bar == 13 || bar == 14;
    for (size_t k = 0; !again && k < distinct; ++k) {
      again = !strcmp(reasons[k], reason);
    }
    if (!again) {
      reasons[distinct++] = reason;
    }
  }
  run_clear(&run);
  run = RUN("plan", jig, "--bars", "9-16", "--plans", "1");
  size_t written = 0;
  for (const char* at = run.output; (at = strstr(at, "\n  bar ")); ++at) {
    ++written;
  }
  assert_int_equal(written, distinct < 6 ? distinct : 6);
  if (distinct) {
    assert_non_null(strstr(run.output, reasons[0]));
    assert_non_null(strstr(run.output, reasons[distinct - 1]));
  }
  json_decref(json);
  run_clear(&run);
}

/// A roll has its own cut, so none is put before it.
static void
more_cuts_leave_rolls_alone(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const path = folder_path(folder, "rolls.abc");
  static const char text[] = "X:1\nT:Rolls\nM:6/8\nL:1/8\nK:D\n~F3 AFA|!roll!F3 AFA|F3 AFA|\n";
  FILE* const file = fopen(path, "w");
  assert_non_null(file);
  fputs(text, file);
  fclose(file);
  ProgramRun run = RUN("plan", path, "--abc", "--more-cuts");
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, "K:D\n~\""));
  assert_non_null(strstr(run.output, "!roll!\""));
  assert_non_null(strstr(run.output, "{"));
  run_clear(&run);
  folder_remove(folder);
  free(path);
  free(folder);
}

int
main(const int argc, char** const argv)
{
  if (argc < 6) {
    return 2;
  }
  program = argv[1];
  jig = argv[2];
  take_phrase = argv[3];
  take = argv[4];
  repeated = argv[5];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(json_tells_each_note),
      cmocka_unit_test(abc_with_the_plan_is_the_same_tune),
      cmocka_unit_test(more_cuts_leave_the_tune),
      cmocka_unit_test(more_cuts_leave_rolls_alone),
      cmocka_unit_test(joins_are_stretches_of_the_phrase),
      cmocka_unit_test(what_is_left_out_is_reported),
      cmocka_unit_test(no_join_comes_twice),
      cmocka_unit_test(joins_go_by_what_went_wrong),
      cmocka_unit_test(the_table_fits_the_screen),
      cmocka_unit_test(each_bar_is_written_once),
      cmocka_unit_test(the_bellows_are_an_arrow),
      cmocka_unit_test(reasons_are_spread),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
