// SPDX-License-Identifier: GPL-3.0-or-later

// What of a planned phrase is listed once.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/folded.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char LAYOUT[] =
    "{\"format\": \"steadyreed-instrument\", \"version\": 1, \"title\": \"A small box\",\n"
    " \"left\": {\"fingers\": [\"middle\", \"index\"],\n"
    "  \"row 1\": [{\"press\": \"G4\", \"draw\": \"A4\"}, {\"press\": \"B4\", \"draw\": "
    "\"G4\"}]},\n"
    " \"right\": {\"fingers\": [\"index\"], \"row 1\": [{\"press\": \"D5\", \"draw\": \"E5\"}]},\n"
    " \"air\": {\"hand\": \"right\", \"finger\": \"thumb\"}}\n";

static SrInstrument* instrument;

/// A phrase, and a plan that plays every note in the same way unless the test changes it.
typedef struct {
  SrPhrase* phrase;
  SrPlan plan;
  SrFolded folded;
} Case;

static void
make_case(const char* const music, Case* const made)
{
  char text[512];
  SrError error;
  snprintf(text, sizeof(text), "X:1\nT:Folded\nM:2/4\nL:1/4\nK:C\n%s\n", music);
  memset(made, 0, sizeof(*made));
  if (sr_phrase_read_text(text, strlen(text), "tune", NULL, &made->phrase, &error) != SR_OK) {
    print_error("%s\n", error.message);
    fail();
  }
  made->plan.note_count = sr_phrase_note_count(made->phrase);
  made->plan.notes = calloc(made->plan.note_count, sizeof(SrPlannedNote));
  assert_non_null(made->plan.notes);
  for (size_t i = 0; i < made->plan.note_count; ++i) {
    made->plan.notes[i].direction = SR_DIRECTION_PRESS;
    made->plan.notes[i].cut_button = -1;
    made->plan.notes[i].cut_midi = -1;
  }
}

static void
fold(Case* const made)
{
  assert_int_equal(sr_fold(made->phrase, &made->plan, &made->folded), SR_OK);
}

static void
clear_case(Case* const made)
{
  sr_folded_clear(&made->folded);
  free(made->plan.notes);
  sr_phrase_del(made->phrase);
}

static void
words_of_parts(void** const state)
{
  (void)state;
  static const struct {
    const char* music;
    size_t part_count;
    const char* words[3];
    size_t bar_counts[3];
    size_t times[3];
  } CASES[] = {
      {"GA|BG|AB|", 1, {""}, {3}, {1}},
      {"|:GA|BG|AB|GG:|", 1, {"Bars 1 to 4, twice"}, {4}, {2}},
      {"|:GA|BG:|\n|:AA|GB:|", 2, {"Bars 1 and 2, twice", "Bars 3 and 4, twice"}, {2, 2}, {2, 2}},
      {"GA|BG|GA|BG|GA|BG|", 1, {"Bars 1 to 6: bars 1 and 2, 3 times"}, {2}, {3}},
      {"GG|GG|GG|", 1, {"Bars 1 to 3: bar 1, 3 times"}, {1}, {3}},
      {"|:GA|BG|GA|BG:|", 1, {"Bars 1 to 4, twice: bars 1 and 2, 4 times"}, {2}, {4}},
      {"|:GA|BG|1 AA:|2 BB|",
       1,
       {"Bars 1 and 2, twice: first with bar 3, then with bar 4"},
       {4},
       {2}},
      {"|:GA|BG|1 AA:|2 AA|", 1, {"Bars 1 to 3, twice (bar 4 is as bar 3)"}, {3}, {2}},
      {"G|GA|BG|:AA|BB:|", 2, {"Bars 1 and 2", "Bars 3 and 4, twice"}, {3, 2}, {1, 2}},
  };
  for (size_t c = 0; c < sizeof(CASES) / sizeof(CASES[0]); ++c) {
    Case made;
    make_case(CASES[c].music, &made);
    fold(&made);
    assert_int_equal(made.folded.part_count, CASES[c].part_count);
    for (size_t i = 0; i < CASES[c].part_count; ++i) {
      const SrFoldedPart* const part = &made.folded.parts[i];
      assert_string_equal(part->words, CASES[c].words[i]);
      assert_int_equal(part->bar_count, CASES[c].bar_counts[i]);
      assert_int_equal(part->times, CASES[c].times[i]);
    }
    clear_case(&made);
  }
}

/// Another button, direction or cut, or another pitch under one button, is not the same bar.
static void
other_ways_are_not_folded(void** const state)
{
  (void)state;
  for (int what = 0; what < 4; ++what) {
    Case made;
    make_case("|:GA|BG:|", &made);
    SrPlannedNote* const note = &made.plan.notes[6];
    note->button += what == 0;
    note->direction = what == 1 ? SR_DIRECTION_DRAW : SR_DIRECTION_PRESS;
    note->cut_button = what == 2 ? 2 : -1;
    fold(&made);
    assert_int_equal(made.folded.part_count, what == 3 ? 1 : 2);
    if (what < 3) {
      assert_string_equal(made.folded.parts[0].words, "Bars 1 and 2");
      assert_string_equal(made.folded.parts[1].words, "Bars 1 and 2 again");
      // Its first bar is the same
      assert_int_equal(made.folded.bars[2].like, 0);
      assert_int_equal(made.folded.bars[3].like, SR_LIKE_NONE);
    }
    clear_case(&made);
  }
}

static void
equal_bars_are_named(void** const state)
{
  (void)state;
  Case made;
  make_case("GA|BG|AB|GA|BG|GG|", &made);
  fold(&made);
  static const size_t LIKES[6] = {SR_LIKE_NONE, SR_LIKE_NONE, SR_LIKE_NONE, 0, 1, SR_LIKE_NONE};
  assert_int_equal(made.folded.bar_count, 6);
  for (size_t i = 0; i < 6; ++i) {
    assert_int_equal(made.folded.bars[i].like, LIKES[i]);
  }
  clear_case(&made);
  // Air in one of them only
  make_case("GA|BG|AB|GA|BG|GG|", &made);
  made.plan.notes[6].air = 5;
  fold(&made);
  assert_int_equal(made.folded.bars[3].like, SR_LIKE_NONE);
  assert_int_equal(made.folded.bars[4].like, 1);
  clear_case(&made);
  // A note held into the bar or out of it
  make_case("GA|BG|AB|GA|BG-|GG|", &made);
  fold(&made);
  assert_int_equal(made.folded.bars[3].like, 0);
  assert_int_equal(made.folded.bars[4].like, SR_LIKE_NONE);
  clear_case(&made);
}

/// When air is taken in some of its times only, the part is still listed once, with those times.
static void
times_of_air(void** const state)
{
  (void)state;
  static const struct {
    bool airs[4];
    const char* words;
  } CASES[] = {
      {{false, false, false, false}, ""},
      {{true, true, true, true}, "air"},
      {{false, true, false, false}, "air 2nd time"},
      {{false, false, true, true}, "air from 3rd time"},
      {{true, false, false, true}, "air times 1, 4"},
  };
  for (size_t c = 0; c < sizeof(CASES) / sizeof(CASES[0]); ++c) {
    Case made;
    make_case("GA|GA|GA|GA|", &made);
    for (size_t time = 0; time < 4; ++time) {
      made.plan.notes[2 * time + 1].air = CASES[c].airs[time] ? 5 : 0;
    }
    fold(&made);
    assert_int_equal(made.folded.part_count, 1);
    assert_int_equal(made.folded.bar_count, 1);
    char words[SR_FOLDED_AIR_SIZE];
    assert_string_equal(sr_folded_air(made.phrase, &made.plan, &made.folded, 0, 0, 1, words),
                        CASES[c].words);
    assert_string_equal(sr_folded_air(made.phrase, &made.plan, &made.folded, 0, 0, 0, words), "");
    clear_case(&made);
  }
}

int
main(void)
{
  if (sr_instrument_read_text(LAYOUT, strlen(LAYOUT), "small.json", &instrument, NULL) != SR_OK) {
    return 2;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(words_of_parts),
      cmocka_unit_test(other_ways_are_not_folded),
      cmocka_unit_test(equal_bars_are_named),
      cmocka_unit_test(times_of_air),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  sr_instrument_del(instrument);
  return failed;
}
