// SPDX-License-Identifier: GPL-3.0-or-later

// A drill that gets faster from day to day: a month of a player of our own invention, who plays
// clean up to a tempo that the program does not know. The numbers that are expected follow from the
// rule as ladder.h and ladder_start.h tell it.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "app/ladder_start.h"
#include "history_home.h"
#include "made_history.h"

#include <math.h>
#include <stdbool.h>

/// The drill's own tempo.
#define OWN 100.0
#define FIRST_DAY 20000
#define ROUNDS 9

/// A day's practice of a drill.
typedef struct {
  double first; ///< Tempo it began with
  double last_clean;
  double most; ///< Fastest that was asked for
  SrLadderMove moved;
  bool known; ///< Some round before was clean
} Day;

static void
assert_same(const double one, const double other)
{
  assert_true(fabs(one - other) < 1e-9);
}

/// Play rounds on a day, clean up to a tempo and with half of the cuts joined over it.
static Day
play_day(SrHistory* const history, const SrPhrase* const drill, const int day, const double limit)
{
  bool known = false;
  const SrLadderTempo tempo = sr_drill_start(drill, OWN, &known);
  SrLadder* ladder = NULL;
  assert_int_equal(sr_ladder_new(drill, &tempo, true, &ladder, NULL), SR_OK);
  sr_ladder_keep_together(ladder);
  SrLadderRung rung = sr_ladder_now(ladder);
  Day played = {.first = rung.bpm, .last_clean = (double)NAN, .most = rung.bpm, .known = known};
  for (int i = 0; i < ROUNDS; ++i) {
    // All bars, whatever happens
    assert_int_equal(rung.bar_count, sr_phrase_bar_count(drill));
    const bool clean = rung.bpm <= limit;
    const MadeRound made = {.bpm = rung.bpm, .joined = clean ? 0 : 3};
    made_round_add(history, drill, &made, day, i, NULL);
    SrAssessment* const assessment = made_assessment(drill, &made);
    played.last_clean = clean ? rung.bpm : played.last_clean;
    rung = sr_ladder_round(ladder, sr_ladder_grade(&assessment->rounds[0]));
    made_assessment_del(assessment);
    played.most = fmax(played.most, rung.bpm);
    played.moved = rung.moved;
  }
  sr_ladder_del(ladder);
  return played;
}

static void
test_a_month(void** const state)
{
  (void)state;
  MadeHome home = made_home();
  SrHistory* const history = made_history_open();
  SrPhrase* const drill = made_phrase("Drill", 0);
  SrPhrase* const other = made_phrase("Another drill", 3);
  double clean = (double)NAN;
  double limit = 90.0;
  for (int day = 0; day < 30; ++day) {
    // Days off change nothing, and nobody gets better meanwhile
    if (day % 7 == 2 || day % 7 == 5) {
      continue;
    }
    const Day played = play_day(history, drill, FIRST_DAY + day, limit);
    assert_same(played.first, day == 0 ? OWN : clean);
    assert_int_equal(played.known, day > 0);
    if (day > 0) {
      // Never faster than a step over what is clean
      assert_true(played.first <= limit);
      assert_true(played.most <= limit + round(SR_LADDER_STEP * limit) + 1.0);
    }
    assert_true(isnan(clean) || played.last_clean >= clean);
    clean = played.last_clean;
    limit += 2.0;
  }
  // 22 days; the last was clean up to 90 + 21 * 2 = 132
  assert_true(clean > 126.0 && clean <= 132.0);
  // Another drill knows nothing of it
  bool known = true;
  assert_same(sr_drill_start(other, OWN, &known).start_bpm, OWN);
  assert_false(known);
  // A bad day: it goes down where it is not clean, and begins lower the next day
  const Day bad = play_day(history, drill, FIRST_DAY + 30, 120.0);
  assert_same(bad.first, clean);
  assert_true(bad.last_clean <= 120.0);
  const Day after = play_day(history, drill, FIRST_DAY + 31, 120.0);
  assert_same(after.first, bad.last_clean);
  sr_phrase_del(other);
  sr_phrase_del(drill);
  sr_history_close(history);
  made_home_remove(&home);
}

/// It ends at its top and stays there, and at its bottom is not taken apart.
static void
test_ends(void** const state)
{
  (void)state;
  MadeHome home = made_home();
  SrHistory* const history = made_history_open();
  SrPhrase* const drill = made_phrase("Drill", 0);
  for (int day = 0; day < 12; ++day) {
    const Day played = play_day(history, drill, FIRST_DAY + day, 1000.0);
    assert_true(played.most <= SR_DRILL_TOP_SHARE * OWN);
  }
  const Day top = play_day(history, drill, FIRST_DAY + 12, 1000.0);
  assert_same(top.first, SR_DRILL_TOP_SHARE * OWN);
  assert_int_equal(top.moved, SR_LADDER_DONE);
  for (int day = 13; day < 30; ++day) {
    play_day(history, drill, FIRST_DAY + day, 0.0);
  }
  sr_phrase_del(drill);
  sr_history_close(history);
  made_home_remove(&home);
}

/// What was never clean begins no faster than it was last tried.
static void
test_never_clean(void** const state)
{
  (void)state;
  MadeHome home = made_home();
  SrHistory* const history = made_history_open();
  SrPhrase* const drill = made_phrase("Drill", 0);
  play_day(history, drill, FIRST_DAY, 0.0);
  const Day second = play_day(history, drill, FIRST_DAY + 1, 0.0);
  // Two rounds each at 100, 96, 92 and 88, and the ninth at
  assert_same(second.first, 84.0);
  assert_false(second.known);
  const SrPhrase* const phrases[] = {drill};
  // A ladder up to 200 would begin with 160
  const Day third = play_day(history, drill, FIRST_DAY + 2, 0.0);
  assert_true(sr_ladder_start(phrases, 1, 200.0, (double)NAN).start_bpm <= third.first);
  // Up to 60, with 48
  assert_same(sr_ladder_start(phrases, 1, 60.0, (double)NAN).start_bpm, 48.0);
  sr_phrase_del(drill);
  sr_history_close(history);
  made_home_remove(&home);
}

/// A ladder knows the bars that it begins with, though the whole was never played.
static void
test_first_bars(void** const state)
{
  (void)state;
  static const char text[] = "X:1\nT:Shed\nM:4/4\nL:1/4\nQ:1/4=100\nK:D\nA{c}AB{d}B|G{B}GF{A}F|"
                             "E{G}ED{F}D|A{c}AD2|]\n";
  MadeHome home = made_home();
  SrHistory* const history = made_history_open();
  SrPhrase* whole = NULL;
  SrPhrase* first = NULL;
  assert_int_equal(sr_phrase_read_text(text, sizeof(text) - 1, "shed", NULL, &whole, NULL), SR_OK);
  const SrBarSpan bars = sr_ladder_first_bars(whole);
  assert_int_equal(bars.first, 1);
  assert_int_equal(bars.last, 2);
  const SrPhraseChoice choice = {.first_bar = bars.first, .last_bar = bars.last};
  assert_int_equal(sr_phrase_read_text(text, sizeof(text) - 1, "shed", &choice, &first, NULL),
                   SR_OK);
  assert_int_equal(sr_ladder_first_bars(first).last, 0); // all of it
  made_round_add(history, first, &(MadeRound){.bpm = 88.0}, FIRST_DAY, 0, NULL);
  const SrPhrase* const phrases[] = {whole, NULL, first};
  assert_same(sr_ladder_start(phrases, 3, 120.0, (double)NAN).start_bpm, 88.0);
  assert_same(sr_ladder_start(phrases, 1, 120.0, (double)NAN).start_bpm, 96.0);
  assert_same(sr_ladder_start(phrases, 3, 120.0, 70.0).start_bpm, 70.0);
  sr_phrase_del(first);
  sr_phrase_del(whole);
  sr_history_close(history);
  made_home_remove(&home);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_a_month),
      cmocka_unit_test(test_ends),
      cmocka_unit_test(test_never_clean),
      cmocka_unit_test(test_first_bars),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
