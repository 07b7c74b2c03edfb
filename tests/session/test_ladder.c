// SPDX-License-Identifier: GPL-3.0-or-later

// The tempo ladder, walked by players of our own invention.

#include <steadyreed/ladder.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/// A pickup and eight bars.
#define JIG                                                                                        \
  "X:1\nT:The Gate in the Rain\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"                                     \
  "A|AFD EFA|GAB AFD|AFD EFG|ABA D2A|AFD EFA|GAB AFD|AFD EFG|ABA D3|]\n"
#define TWO_BARS "X:1\nT:Two\nM:6/8\nL:1/8\nK:D\nAFD EFA|GAB D3|]\n"

static SrPhrase*
phrase_of(const char* const text)
{
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_phrase_read_text(text, strlen(text), "test", NULL, &phrase, NULL), SR_OK);
  return phrase;
}

static SrLadder*
ladder_of(const SrPhrase* const phrase, const double start, const double least, const double most,
          const bool whole)
{
  SrLadder* ladder = NULL;
  const SrLadderTempo tempo = {start, least, most};
  assert_int_equal(sr_ladder_new(phrase, &tempo, whole, &ladder, NULL), SR_OK);
  return ladder;
}

static SrLadderRung
play(SrLadder* const ladder, const SrRoundGrade grade, const unsigned rounds)
{
  SrLadderRung rung = sr_ladder_now(ladder);
  for (unsigned i = 0; i < rounds; ++i) {
    rung = sr_ladder_round(ladder, grade);
  }
  return rung;
}

/// Whoever plays all of it clean is led through all stretches in order, and to the end.
static void
test_a_clean_player(void** const state)
{
  (void)state;
  static const struct {
    SrLadderMove moved;
    size_t first;
    size_t count;
  } stretches[] = {
      {SR_LADDER_NEXT, 3, 2}, {SR_LADDER_JOINED, 0, 5}, {SR_LADDER_NEXT, 5, 2},
      {SR_LADDER_NEXT, 7, 2}, {SR_LADDER_JOINED, 5, 4}, {SR_LADDER_JOINED, 0, 9},
      {SR_LADDER_DONE, 0, 9},
  };
  SrPhrase* const phrase = phrase_of(JIG);
  SrLadder* const ladder = ladder_of(phrase, 88.0, (double)NAN, 90.0, false);
  SrLadderRung rung = sr_ladder_now(ladder);
  assert_int_equal(rung.first_bar, 0);
  assert_int_equal(rung.bar_count, 3);
  for (size_t i = 0; i < sizeof(stretches) / sizeof(stretches[0]); ++i) {
    double before = rung.bpm;
    while ((rung = play(ladder, SR_ROUND_CLEAN, SR_LADDER_CLEAN_ROUNDS)).moved == SR_LADDER_UP) {
      assert_true(rung.bpm > before && rung.bpm <= 90.0);
      before = rung.bpm;
    }
    assert_true(before == 90.0);
    assert_int_equal(rung.moved, stretches[i].moved);
    assert_int_equal(rung.first_bar, stretches[i].first);
    assert_int_equal(rung.bar_count, stretches[i].count);
    // A joined stretch begins two steps under the top, 4 % each
    assert_true(rung.moved != SR_LADDER_JOINED || rung.bpm == 83.0);
  }
  assert_int_equal(play(ladder, SR_ROUND_CLEAN, 3).moved, SR_LADDER_DONE);
  sr_ladder_del(ladder);
  sr_phrase_del(phrase);
}

static void
test_three_clean_in_a_row(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of(TWO_BARS);
  SrLadder* const ladder = ladder_of(phrase, 60.0, 50.0, 100.0, false);
  assert_int_equal(play(ladder, SR_ROUND_CLEAN, 2).moved, SR_LADDER_SAME);
  assert_int_equal(play(ladder, SR_ROUND_FAIR, 1).clean, 0);
  assert_int_equal(play(ladder, SR_ROUND_CLEAN, 2).clean, 2);
  assert_true(sr_ladder_now(ladder).bpm == 60.0);
  const SrLadderRung rung = play(ladder, SR_ROUND_CLEAN, 1);
  assert_int_equal(rung.moved, SR_LADDER_UP);
  assert_true(rung.bpm == 62.0);
  // The next step takes three more
  assert_int_equal(play(ladder, SR_ROUND_CLEAN, 2).moved, SR_LADDER_SAME);
  assert_true(play(ladder, SR_ROUND_CLEAN, 1).bpm == 64.0);
  sr_ladder_del(ladder);
  sr_phrase_del(phrase);
}

static void
test_two_poor_ones(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of(TWO_BARS);
  SrLadder* const ladder = ladder_of(phrase, 60.0, 58.0, 100.0, false);
  assert_int_equal(play(ladder, SR_ROUND_POOR, 1).moved, SR_LADDER_SAME);
  assert_int_equal(play(ladder, SR_ROUND_CLEAN, 1).moved, SR_LADDER_SAME);
  assert_int_equal(play(ladder, SR_ROUND_POOR, 1).moved, SR_LADDER_SAME);
  assert_true(play(ladder, SR_ROUND_POOR, 1).bpm == 58.0);
  // Not under the player's limit, and two bars are not taken apart
  assert_int_equal(play(ladder, SR_ROUND_POOR, 2).moved, SR_LADDER_SAME);
  assert_true(sr_ladder_now(ladder).bpm == 58.0);
  sr_ladder_del(ladder);
  sr_phrase_del(phrase);
}

/// The whole is taken apart where it does not go, and joined again.
static void
test_taken_apart_and_joined(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of(JIG);
  SrLadder* const ladder = ladder_of(phrase, 80.0, 80.0, 84.0, true);
  assert_int_equal(sr_ladder_now(ladder).bar_count, 9);
  SrLadderRung rung = play(ladder, SR_ROUND_POOR, 2);
  assert_int_equal(rung.moved, SR_LADDER_APART);
  assert_int_equal(rung.first_bar, 0);
  assert_int_equal(rung.bar_count, 5);
  rung = play(ladder, SR_ROUND_POOR, 2);
  assert_int_equal(rung.moved, SR_LADDER_APART);
  assert_int_equal(rung.bar_count, 3);
  // 80, 83, 84, and it sticks
  rung = play(ladder, SR_ROUND_CLEAN, 9);
  assert_int_equal(rung.moved, SR_LADDER_NEXT);
  assert_int_equal(rung.first_bar, 3);
  assert_int_equal(rung.bar_count, 2);
  rung = play(ladder, SR_ROUND_CLEAN, 9);
  assert_int_equal(rung.moved, SR_LADDER_JOINED);
  assert_int_equal(rung.bar_count, 5);
  rung = play(ladder, SR_ROUND_CLEAN, 9);
  // The other half was played whole before, so it is not taken apart unasked
  assert_int_equal(rung.moved, SR_LADDER_NEXT);
  assert_int_equal(rung.first_bar, 5);
  assert_int_equal(rung.bar_count, 4);
  rung = play(ladder, SR_ROUND_CLEAN, 9);
  assert_int_equal(rung.moved, SR_LADDER_JOINED);
  assert_int_equal(rung.bar_count, 9);
  assert_int_equal(play(ladder, SR_ROUND_CLEAN, 9).moved, SR_LADDER_DONE);
  sr_ladder_del(ladder);
  sr_phrase_del(phrase);
}

/// Any player whatever stays within the limits and the phrase, and one who only gets better ends.
static void
test_players_at_random(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of(JIG);
  uint32_t random = 1;
  size_t ended = 0;
  for (unsigned player = 0; player < 200; ++player) {
    SrLadder* const ladder = ladder_of(phrase, 70.0, 60.0, 90.0, player % 2 == 0);
    for (unsigned played = 0; played < 2000; ++played) {
      random = random * 1664525u + 1013904223u;
      const unsigned poor = played < 400 ? 40u : 0u;
      const unsigned chance = random >> 16 & 127u;
      const SrLadderRung rung = sr_ladder_round(ladder, chance < poor       ? SR_ROUND_POOR
                                                        : chance < poor + 8 ? SR_ROUND_FAIR
                                                                            : SR_ROUND_CLEAN);
      assert_true(rung.bpm >= 60.0 && rung.bpm <= 90.0 && rung.bpm == round(rung.bpm));
      assert_true(rung.bar_count >= 2 && rung.first_bar + rung.bar_count <= 9);
      if (rung.moved == SR_LADDER_DONE) {
        ++ended;
        break;
      }
    }
    sr_ladder_del(ladder);
  }
  assert_int_equal(ended, 200);
  sr_phrase_del(phrase);
}

static void
test_grades(void** const state)
{
  (void)state;
  SrNoteVerdict notes[10] = {0};
  for (size_t i = 0; i < 10; ++i) {
    notes[i].status = SR_NOTE_PLAYED;
  }
  SrRound round = {.notes = notes, .note_count = 10, .scores = {(double)NAN, 95.0, (double)NAN}};
  assert_int_equal(sr_ladder_grade(&round), SR_ROUND_CLEAN);
  round.scores.cuts = 89.0;
  assert_int_equal(sr_ladder_grade(&round), SR_ROUND_FAIR);
  round.scores.cuts = 69.0;
  assert_int_equal(sr_ladder_grade(&round), SR_ROUND_POOR);
  round.scores.cuts = 90.0;
  notes[3].status = SR_NOTE_MISSED;
  assert_int_equal(sr_ladder_grade(&round), SR_ROUND_FAIR);
  notes[4].status = SR_NOTE_WRONG;
  assert_int_equal(sr_ladder_grade(&round), SR_ROUND_POOR);
  // What the microphone lost is not the player's fault
  notes[3].status = SR_NOTE_UNHEARD;
  notes[4].status = SR_NOTE_UNHEARD;
  assert_int_equal(sr_ladder_grade(&round), SR_ROUND_CLEAN);
  SrSlip slip = {.kind = SR_SLIP_HESITATION};
  round.slips = &slip;
  round.slip_count = 1;
  assert_int_equal(sr_ladder_grade(&round), SR_ROUND_POOR);
}

static void
test_words(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of(JIG);
  SrLadder* const ladder = ladder_of(phrase, 90.0, 60.0, 90.0, false);
  char words[SR_LADDER_WORDS_SIZE];
  SrLadderRung rung = sr_ladder_now(ladder);
  assert_string_equal(sr_ladder_words(phrase, &rung, words), "Bars 1 to 2, at 90.");
  rung = play(ladder, SR_ROUND_POOR, 2);
  assert_string_equal(sr_ladder_words(phrase, &rung, words), "Down a step, to 86.");
  rung = play(ladder, SR_ROUND_CLEAN, 3);
  assert_string_equal(sr_ladder_words(phrase, &rung, words), "Up a step, to 89.");
  rung = play(ladder, SR_ROUND_CLEAN, 6);
  assert_string_equal(sr_ladder_words(phrase, &rung, words),
                      "That sticks. Now bars 3 to 4, at 90.");
  rung = play(ladder, SR_ROUND_CLEAN, 3);
  assert_string_equal(sr_ladder_words(phrase, &rung, words),
                      "That sticks. Now join them, bars 1 to 4, at 83.");
  sr_ladder_del(ladder);
  sr_phrase_del(phrase);
}

static void
test_bad_limits(void** const state)
{
  (void)state;
  SrPhrase* const phrase = phrase_of(JIG);
  static const SrLadderTempo bad[] = {
      {80.0, 90.0, 90.0}, {80.0, 5.0, 90.0}, {80.0, 60.0, 401.0}, {(double)NAN, 60.0, 90.0}};
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    SrLadder* ladder = NULL;
    SrError error;
    assert_int_equal(sr_ladder_new(phrase, &bad[i], false, &ladder, &error), SR_BAD_ARGUMENT);
    assert_null(ladder);
  }
  sr_phrase_del(phrase);
}

/// What more clean rounds lead to.
static void
test_clean_words(void** const state)
{
  (void)state;
  char words[SR_LADDER_WORDS_SIZE];
  SrLadderRung rung = {.clean = 1};
  assert_string_equal(sr_ladder_clean_words(&rung, words), "1 of 3 clean: two more for a step up.");
  rung.clean = 2;
  assert_string_equal(sr_ladder_clean_words(&rung, words), "2 of 3 clean: one more for a step up.");
  rung.top = true;
  assert_string_equal(sr_ladder_clean_words(&rung, words),
                      "2 of 3 clean: one more, and it sticks.");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_a_clean_player),
      cmocka_unit_test(test_three_clean_in_a_row),
      cmocka_unit_test(test_two_poor_ones),
      cmocka_unit_test(test_taken_apart_and_joined),
      cmocka_unit_test(test_players_at_random),
      cmocka_unit_test(test_grades),
      cmocka_unit_test(test_words),
      cmocka_unit_test(test_clean_words),
      cmocka_unit_test(test_bad_limits),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
