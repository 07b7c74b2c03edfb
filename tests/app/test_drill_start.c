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
  assert_int_equal(known, day > FIRST_DAY);
  SrLadder* ladder = NULL;
  assert_int_equal(sr_ladder_new(drill, &tempo, true, &ladder, NULL), SR_OK);
  sr_ladder_keep_together(ladder);
  SrLadderRung rung = sr_ladder_now(ladder);
  Day played = {.first = rung.bpm, .last_clean = (double)NAN, .most = rung.bpm};
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

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_a_month),
      cmocka_unit_test(test_ends),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
