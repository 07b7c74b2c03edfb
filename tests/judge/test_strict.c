// SPDX-License-Identifier: GPL-3.0-or-later

// What a teacher would not let pass: a tempo that does not stay, a beat that breaks, cuts that
// never came. And what a teacher would: lilt, a steady hand that is not quite even, a drift of a
// few per cent. Events are those of a perfect ear.

#include "played.h"
#include "random.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_NOTES 512u

static char** paths;
static size_t path_count;

static Played played;
static SrStatus status;

/// How a round is played.
typedef struct {
  double bpm;    ///< At its beginning
  double faster; ///< How many times that it is at the end
  bool at_once;  ///< From the middle on; else from the first note to the last
  double wait_s; ///< Before the note in the middle
  double spread_s;
  double lilt; ///< Share by which the first place of a pulse is longer
  unsigned seed;
} Hand;

/// Seconds from the beginning to a share of the phrase, for a phrase of one second.
static double
time_at(const Hand* const hand, const double share)
{
  if (hand->at_once) {
    return fmin(share, 0.5) + fmax(0.0, share - 0.5) / hand->faster;
  }
  // A tempo that grows evenly with the place
  const double more = hand->faster - 1.0;
  return fabs(more) > 1e-9 ? log1p(more * share) / more : share;
}

static void
play(const SrPhrase* const phrase, const Hand* const hand)
{
  const size_t notes = sr_phrase_note_count(phrase);
  const SrPhraseNote* const last = sr_phrase_note(phrase, notes - 1);
  const double length = sr_fraction_value(last->start) + sr_fraction_value(last->length);
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  const double whole_s = 60.0 / hand->bpm / pulse;
  Random random = {hand->seed};
  double onset_s[MOST_NOTES + 1];
  assert_true(notes <= MOST_NOTES);
  for (size_t i = 0; i <= notes; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i < notes ? i : notes - 1);
    const double at = i < notes ? sr_fraction_value(note->start) : length;
    const double in_pulse = sr_fraction_value(note->in_bar) / pulse;
    const bool behind = i < notes && fabs(in_pulse - floor(in_pulse + 1e-9) - 1.0 / 3.0) < 1e-6;
    onset_s[i] = 1.0 + whole_s * length * time_at(hand, at / length) +
                 (i >= notes / 2 ? hand->wait_s : 0.0) +
                 (behind ? hand->lilt * 60.0 / hand->bpm / 3.0 : 0.0) +
                 hand->spread_s * random_normal(&random);
  }
  played.count = 0;
  for (size_t i = 0; i < notes; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const bool again = i > 0 && sr_phrase_note(phrase, i - 1)->midi == note->midi;
    played_note(&played, note, onset_s[i],
                onset_s[i] + 0.97 * fmin(onset_s[i + 1] - onset_s[i], 60.0 / hand->bpm), again);
  }
}

static SrPhrase*
read_phrase(const char* const path)
{
  SrPhrase* phrase = NULL;
  const SrPhraseChoice choice = {0};
  SrError error = {0};
  if (sr_phrase_read_file(path, &choice, &phrase, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  return phrase;
}

static SrAssessment*
judge_hand(const SrPhrase* const phrase, const Hand* const hand)
{
  play(phrase, hand);
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->round_count, 1);
  return assessment;
}

static size_t
count_played(const SrRound* const round)
{
  size_t count = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    count += round->notes[i].status == SR_NOTE_PLAYED;
  }
  return count;
}

/// Any change of tempo: the round is whole, its notes are right, the change is reported with its
/// size, it costs, and it is what the advice names first.
static void
changed_tempo(void** const state)
{
  (void)state;
  static const double faster[] = {2.0, 1.5, 1.3, 0.6};
  for (size_t p = 0; p < path_count; ++p) {
    SrPhrase* const phrase = read_phrase(paths[p]);
    for (size_t f = 0; f < 2 * sizeof(faster) / sizeof(faster[0]); ++f) {
      const double times = faster[f / 2];
      const Hand hand = {.bpm = times > 1.0 ? 60.0 : 110.0,
                         .faster = times,
                         .at_once = f % 2,
                         .spread_s = 0.005,
                         .seed = (unsigned)f + 1};
      SrAssessment* const assessment = judge_hand(phrase, &hand);
      const SrRound* const round = &assessment->rounds[0];
      const double true_percent = 100.0 * (fmax(times, 1.0 / times) - 1.0);
      const double reported = round->pulse.change_percent;
      printf("%s, %.1f times as fast %s: told %.0f %%, evenness %.0f, \"%s\"\n",
             sr_phrase_title(phrase), times, hand.at_once ? "at once" : "little by little",
             reported, round->scores.evenness, round->advice[0]);
      // At the join, one of the notes may be lost
      assert_true(count_played(round) + 1 >= round->note_count);
      // Of few notes, a change between two of them can be placed no better
      assert_true(fabs(reported - true_percent) < fmax(6.0, 0.2 * true_percent));
      assert_true(round->scores.evenness < (true_percent > 49.0 ? 25.0 : 55.0));
      assert_true(sr_round_steadiness(round) < 0.5);
      sr_assessment_del(assessment);
    }
    sr_phrase_del(phrase);
  }
}

/// What nobody would blame costs nothing, or next to nothing.
static void
steady_hands(void** const state)
{
  (void)state;
  for (size_t p = 0; p < path_count; ++p) {
    SrPhrase* const phrase = read_phrase(paths[p]);
    double least = 100.0;
    double most_change = 0.0;
    for (unsigned seed = 1; seed <= 40; ++seed) {
      const Hand hand = {.bpm = 60.0 + seed,
                         .faster = 1.0 + 0.025 * (double)(seed % 3) - 0.025,
                         .spread_s = 0.004,
                         .lilt = 0.05 * (double)(seed % 5),
                         .seed = seed};
      SrAssessment* const assessment = judge_hand(phrase, &hand);
      const SrRound* const round = &assessment->rounds[0];
      least = fmin(least, round->scores.evenness);
      most_change = fmax(most_change, round->pulse.change_percent);
      assert_int_equal(round->slip_count, 0);
      assert_int_equal(round->pulse.jump_note, round->note_count);
      sr_assessment_del(assessment);
    }
    printf("%s: least evenness of steady hands %.1f, largest change of tempo told %.1f %%\n",
           sr_phrase_title(phrase), least, most_change);
    assert_true(least > 95.0);
    sr_phrase_del(phrase);
  }
}

/// Uneven is not another tempo: of rounds with a spread of 25 ms, hardly any is reported to have
/// jumped.
static void
uneven_is_no_jump(void** const state)
{
  (void)state;
  size_t rounds = 0;
  size_t jumps = 0;
  for (size_t p = 0; p < path_count; ++p) {
    SrPhrase* const phrase = read_phrase(paths[p]);
    for (unsigned seed = 1; seed <= 50; ++seed) {
      const Hand hand = {.bpm = 60.0, .faster = 1.0, .spread_s = 0.025, .seed = seed};
      SrAssessment* const assessment = judge_hand(phrase, &hand);
      const SrRound* const round = &assessment->rounds[0];
      jumps += round->pulse.jump_note < round->note_count;
      ++rounds;
      sr_assessment_del(assessment);
    }
    sr_phrase_del(phrase);
  }
  printf("of %zu uneven rounds at one tempo, %zu told with a jump\n", rounds, jumps);
  assert_true(100 * jumps <= rounds);
}

/// A break of a second takes a fifth of the evenness, and is reported.
static void
broken_beat(void** const state)
{
  (void)state;
  for (size_t p = 0; p < path_count; ++p) {
    SrPhrase* const phrase = read_phrase(paths[p]);
    const Hand hand = {.bpm = 80.0, .faster = 1.0, .wait_s = 1.0, .spread_s = 0.004, .seed = 3};
    SrAssessment* const assessment = judge_hand(phrase, &hand);
    const SrRound* const round = &assessment->rounds[0];
    printf("%s, a break of a second: evenness %.0f, \"%s\"\n", sr_phrase_title(phrase),
           round->scores.evenness, round->advice[0]);
    assert_int_equal(round->slip_count, 1);
    assert_int_equal(round->slips[0].kind, SR_SLIP_HESITATION);
    assert_true(fabs(round->slips[0].wait_s - 1.0) < 0.05);
    assert_true(round->scores.evenness > 70.0 && round->scores.evenness < 82.0);
    sr_assessment_del(assessment);
    sr_phrase_del(phrase);
  }
}

/// Cuts whose notes never came were asked all the same.
static void
cuts_not_played(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase("X:1\nT:Twice Two\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                                         "A{c}AF DEF|A{c}Ad BAG|F{A}FD EFG|B{d}BA FED|\n");
  played.count = 0;
  played_round(&played, phrase, 1.0, 2.0);
  size_t kept = 0;
  // The repeated notes of the last two bars are missing, and their cuts with them
  for (size_t i = 0; i < played.count; ++i) {
    const SrEvent* const event = &played.events[i];
    const double bar = (event->onset_s - 1.0) / 1.5;
    const bool missing = bar > 1.99 && bar - floor(bar) > 0.16 && bar - floor(bar) < 0.32;
    if (!missing) {
      played.events[kept++] = *event;
    }
  }
  played.count = kept;
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->asked.cuts, 4);
  assert_int_equal(round->judged.cuts, 2);
  assert_int_equal(round->asked.notes, 24);
  assert_int_equal(round->judged.notes, 22);
  assert_true(fabs(round->scores.cuts - 50.0) < 1e-9);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

/// Who stops half way played half of the cuts.
static void
stopped_half_way(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase("X:1\nT:Twice Two\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                                         "A{c}AF DEF|A{c}Ad BAG|F{A}FD EFG|B{d}BA FED|\n");
  played.count = 0;
  played_round(&played, phrase, 1.0, 2.0);
  size_t kept = 0;
  while (kept < played.count && played.events[kept].onset_s < 1.0 + 2.99) {
    ++kept;
  }
  played.count = kept;
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->asked.cuts, 4);
  assert_int_equal(round->judged.cuts, 2);
  assert_true(fabs(round->scores.cuts - 50.0) < 1e-9);
  assert_int_equal(round->slip_count, 1);
  assert_int_equal(round->slips[0].kind, SR_SLIP_STOPPED);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

int
main(const int argc, char** const argv)
{
  paths = argv + 1;
  path_count = (size_t)argc - 1;
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(changed_tempo),     cmocka_unit_test(steady_hands),
      cmocka_unit_test(uneven_is_no_jump), cmocka_unit_test(broken_beat),
      cmocka_unit_test(cuts_not_played),   cmocka_unit_test(stopped_half_way),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
