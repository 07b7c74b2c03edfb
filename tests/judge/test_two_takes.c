// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_two_takes.c
   What is told of two takes: nothing of those that were played alike, more often than is promised;
   and what does differ. The tests behind it against examples in print and against counting.
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "played.h"
#include "random.h"
#include "store/chance.h"

#include <steadyreed/show_two_takes.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Pairs of takes of each kind.
#define ALIKE 400
#define UNLIKE 100
/// Seconds of a whole note: 80 pulses of 3/8 a minute.
#define USUAL_SPW 2.0

static const char jig[] = "X:1\nT:The Lamp in the Porch\nM:6/8\nL:1/8\nK:D\n"
                          "F{A}FA d{f}dA|B{d}BG A{c}AF|G{B}GE F{A}FD|E{G}EF GFE|\n";

/// How a take is played.
typedef struct {
  double spw;       ///< Seconds of a whole note
  double jitter_ms; ///< Standard deviation of onsets
  double p_long;    ///< Chance of a long cut
  double p_missed;  ///< Chance of a missed note
  unsigned rounds;
  double follows;  ///< Correlation of a note's offset with that before it
  double wanders;  ///< Standard deviation of the tempo from round to round, of 1
  double p_slip;   ///< Chance that a round loses four notes in a row
  double p_rushed; ///< Chance that all cuts of a round are long
} Manner;

/// Play a take and have it judged.
static SrAssessment*
play(Random* const random, const SrPhrase* const phrase, const Manner* const manner)
{
  static Played p;
  memset(&p, 0, sizeof(p));
  double zero_s = 1.0;
  for (unsigned r = 0; r < manner->rounds; ++r) {
    int before = -1;
    double off = random_normal(random);
    const double wander = manner->wanders > 0.0 ? random_normal(random) : 0.0;
    const double spw = manner->spw * exp(manner->wanders * wander);
    const bool slips = manner->p_slip > 0.0 && random_unit(random) < manner->p_slip;
    const size_t slip = slips ? 2 + (size_t)(16.0 * random_unit(random)) : SIZE_MAX - 4;
    const bool rushed = manner->p_rushed > 0.0 && random_unit(random) < manner->p_rushed;
    for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, i);
      const double due_s = zero_s + spw * sr_fraction_value(note->start);
      const double onset_s = due_s + 1e-3 * manner->jitter_ms * off;
      const double end_s = due_s + spw * sr_fraction_value(note->length);
      off = manner->follows * off +
            sqrt(1.0 - manner->follows * manner->follows) * random_normal(random);
      const bool missed = random_unit(random) < manner->p_missed;
      if (missed || (i >= slip && i < slip + 4)) {
        before = -1;
        continue;
      }
      if (note->cut_midi >= 0 && (rushed || random_unit(random) < manner->p_long)) {
        played_add(&p, note->cut_midi, onset_s, onset_s + 0.1, 40.0);
        played_add(&p, note->midi, onset_s + 0.1, end_s, 40.0);
      } else {
        played_note(&p, note, onset_s, end_s, before == note->midi);
      }
      before = note->midi;
    }
    zero_s += spw * sr_fraction_value(sr_phrase_length(phrase)) + 3.0;
  }
  SrStatus status = SR_OK;
  SrAssessment* const assessment = played_judge(&p, phrase, &status);
  if (!assessment) {
    // A take of which too little is left for a round: play another
    assert_int_equal(status, SR_NOT_FOUND);
    return play(random, phrase, manner);
  }
  return assessment;
}

static SrTwoTakes
compare(const SrPhrase* const phrase, const SrAssessment* const one,
        const SrAssessment* const other)
{
  const SrPlayedRounds played[2] = {{one->rounds, one->round_count},
                                    {other->rounds, other->round_count}};
  SrTwoTakes two;
  assert_int_equal(sr_two_takes_compare(phrase, played, &two, NULL), SR_OK);
  return two;
}

static bool
tells_anything(const SrTwoTakes* const two)
{
  bool told = false;
  for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
    told = told || two->figures[i].told;
  }
  return told;
}

/// Share of pairs played alike of which anything is told.
static void
check_alike(const char* const name, const Manner* const manner)
{
  SrPhrase* const phrase = played_phrase(jig);
  Random random = {1};
  unsigned told = 0;
  for (unsigned i = 0; i < ALIKE; ++i) {
    SrAssessment* const one = play(&random, phrase, manner);
    SrAssessment* const other = play(&random, phrase, manner);
    const SrTwoTakes two = compare(phrase, one, other);
    char sentence[SR_TWO_SENTENCE_SIZE];
    const bool any = tells_anything(&two);
    told += any;
    assert_true(any == !strstr(sr_two_sentence(&two, sentence), "no more than chance."));
    sr_assessment_del(one);
    sr_assessment_del(other);
  }
  // What chance alone leaves of the level in as many pairs: its one-sided bound of 99 %
  const double level = SR_TWO_BY_CHANCE;
  const double limit = level + 2.326 * sqrt(level * (1.0 - level) / ALIKE);
  print_message("%s: told of %.1f %% of %d pairs played alike (aim %.0f, limit %.1f)\n", name,
                100.0 * told / ALIKE, ALIKE, 100.0 * level, 100.0 * limit);
  assert_true((double)told / ALIKE <= limit);
  sr_phrase_del(phrase);
}

static void
noise_is_no_difference(void** const state)
{
  (void)state;
  const Manner one_round = {USUAL_SPW, 12.0, 0.3, 0.03, 1, 0.0, 0.0, 0.0, 0.0};
  const Manner two_rounds = {USUAL_SPW, 12.0, 0.3, 0.03, 2, 0.0, 0.0, 0.0, 0.0};
  const Manner uneven = {USUAL_SPW, 25.0, 0.6, 0.1, 2, 0.0, 0.0, 0.0, 0.0};
  check_alike("one round of 24 notes", &one_round);
  check_alike("two rounds", &two_rounds);
  check_alike("two poor rounds", &uneven);
  // Offsets that last over some notes
  const Manner lasting = {USUAL_SPW, 12.0, 0.3, 0.03, 2, 0.7, 0.0, 0.0, 0.0};
  const Manner uneven_lasting = {USUAL_SPW, 25.0, 0.6, 0.1, 2, 0.7, 0.0, 0.0, 0.0};
  check_alike("two rounds, offsets that last", &lasting);
  check_alike("two poor rounds, offsets that last", &uneven_lasting);
}

/// As above, where the rounds of a take differ more than their notes.
static void
rounds_that_differ_are_no_difference(void** const state)
{
  (void)state;
  static const struct {
    const char* name;
    Manner manner;
  } kinds[] = {
      {"two rounds, tempo wandering 2 %", {USUAL_SPW, 12.0, 0.3, 0.03, 2, 0.0, 0.02, 0.0, 0.0}},
      {"two rounds, tempo wandering 5 %", {USUAL_SPW, 12.0, 0.3, 0.03, 2, 0.0, 0.05, 0.0, 0.0}},
      {"four rounds, tempo wandering 2 %", {USUAL_SPW, 12.0, 0.3, 0.03, 4, 0.0, 0.02, 0.0, 0.0}},
      {"eight rounds, tempo wandering 2 %", {USUAL_SPW, 12.0, 0.3, 0.03, 8, 0.0, 0.02, 0.0, 0.0}},
      {"eight rounds, tempo wandering 3 %", {USUAL_SPW, 12.0, 0.3, 0.03, 8, 0.0, 0.03, 0.0, 0.0}},
      {"one round, four notes lost in 3 of 10",
       {USUAL_SPW, 12.0, 0.3, 0.03, 1, 0.0, 0.0, 0.3, 0.0}},
      {"two rounds, four notes lost in 3 of 10",
       {USUAL_SPW, 12.0, 0.3, 0.03, 2, 0.0, 0.0, 0.3, 0.0}},
      {"eight rounds, four notes lost in 3 of 10",
       {USUAL_SPW, 12.0, 0.3, 0.03, 8, 0.0, 0.0, 0.3, 0.0}},
      {"four rounds, all cuts long in 3 of 10",
       {USUAL_SPW, 12.0, 0.1, 0.03, 4, 0.0, 0.0, 0.0, 0.3}},
  };
  for (size_t i = 0; i < sizeof(kinds) / sizeof(kinds[0]); ++i) {
    check_alike(kinds[i].name, &kinds[i].manner);
  }
}

/// Share of pairs of which a figure is told (mostly), with the right sign and nothing against it.
static void
check_unlike(const char* const name, const SrTwoFigure figure, const Manner* const first,
             const Manner* const second, const char* const words)
{
  SrPhrase* const phrase = played_phrase(jig);
  Random random = {2};
  unsigned told = 0;
  for (unsigned i = 0; i < UNLIKE; ++i) {
    SrAssessment* const one = play(&random, phrase, first);
    SrAssessment* const other = play(&random, phrase, second);
    const SrTwoTakes two = compare(phrase, one, other);
    char sentence[SR_TWO_SENTENCE_SIZE];
    told += two.figures[figure].told && strstr(sr_two_sentence(&two, sentence), words);
    sr_assessment_del(one);
    sr_assessment_del(other);
  }
  print_message("%s: told of %u of %d pairs (limit %d)\n", name, told, UNLIKE, UNLIKE / 2);
  assert_true(told >= UNLIKE / 2);
  sr_phrase_del(phrase);
}

static void
differences_are_told(void** const state)
{
  (void)state;
  const Manner poor = {USUAL_SPW, 15.0, 0.7, 0.0, 3, 0.0, 0.0, 0.0, 0.0};
  const Manner clean = {USUAL_SPW, 15.0, 0.05, 0.0, 3, 0.0, 0.0, 0.0, 0.0};
  const Manner even = {USUAL_SPW, 6.0, 0.7, 0.0, 3, 0.0, 0.0, 0.0, 0.0};
  const Manner faster = {USUAL_SPW / 1.1, 15.0, 0.7, 0.0, 3, 0.0, 0.0, 0.0, 0.0};
  const Manner holes = {USUAL_SPW, 15.0, 0.7, 0.2, 3, 0.0, 0.0, 0.0, 0.0};
  check_unlike("cuts clean, not 3 of 10", SR_TWO_CUTS, &poor, &clean, "has more clean cuts (");
  check_unlike("spread 6 ms, not 15", SR_TWO_SPREAD, &poor, &even, "is more even (spread ");
  check_unlike("a tenth faster", SR_TWO_TEMPO, &poor, &faster,
               "is faster (88 pulses a minute, not 80)");
  check_unlike("one note of 5 missed", SR_TWO_NOTES, &poor, &holes, "has fewer notes right (");
  // With more rounds, though their tempo wanders by 2 %
  const Manner wandering = {USUAL_SPW, 12.0, 0.3, 0.03, 8, 0.0, 0.02, 0.0, 0.0};
  const Manner quicker = {USUAL_SPW / 1.06, 12.0, 0.3, 0.03, 8, 0.0, 0.02, 0.0, 0.0};
  const Manner losing = {USUAL_SPW, 12.0, 0.3, 0.15, 8, 0.0, 0.02, 0.0, 0.0};
  check_unlike("eight rounds, 6 % faster", SR_TWO_TEMPO, &wandering, &quicker, "is faster (8");
  check_unlike("eight rounds, 15 % missed, not 3", SR_TWO_NOTES, &wandering, &losing,
               "has fewer notes right (");
}

/// The sentence of two takes with figures set by hand.
static void
words_are_plain(void** const state)
{
  (void)state;
  SrTwoTakes two = {.rounds = {1, 1}};
  char sentence[SR_TWO_SENTENCE_SIZE];
  SrTwoRow rows[SR_TWO_FIGURES];
  for (size_t i = 0; i < SR_TWO_FIGURES; ++i) {
    two.figures[i] = (SrTwoFound){.value = {(double)NAN, (double)NAN}, .chance = (double)NAN};
  }
  assert_string_equal(sr_two_sentence(&two, sentence),
                      "The two takes differ by no more than chance.");
  assert_int_equal(sr_two_rows(&two, rows), 0);
  two.figures[SR_TWO_CUTS] =
      (SrTwoFound){{100.0 / 3.0, 275.0 / 3.0}, {4, 11}, {12, 12}, 0.01, true};
  assert_string_equal(sr_two_sentence(&two, sentence),
                      "The second take has more clean cuts (11 of 12, not 4 of 12); nothing else "
                      "differs by more than chance.");
  two.figures[SR_TWO_OFFSET] = (SrTwoFound){{-12.4, 3.2}, {0, 0}, {0, 0}, 0.01, true};
  assert_string_equal(sr_two_sentence(&two, sentence),
                      "The second take has more clean cuts (11 of 12, not 4 of 12) and comes later "
                      "against the click (3 ms behind, not 12 ms ahead); nothing else differs by "
                      "more than chance.");
  assert_int_equal(sr_two_rows(&two, rows), 2);
  assert_string_equal(rows[0].name, "clean cuts, %");
  assert_string_equal(rows[0].value[0], "33");
  assert_string_equal(rows[0].value[1], "92");
  assert_string_equal(rows[0].difference, "+59");
  assert_string_equal(rows[1].value[0], "-12");
  assert_string_equal(rows[1].difference, "+15");
}

/// Two-sided points of Student's t as tables have them (from memory), and the angle's integral at
/// one degree of freedom, a half at a t of 1.
static void
t_as_in_tables(void** const state)
{
  (void)state;
  assert_true(fabs(sr_chance_t(12.706, 1.0) - 0.05) <= 5e-5);
  assert_true(fabs(sr_chance_t(4.604, 4.0) - 0.01) <= 5e-5);
  assert_true(fabs(sr_chance_t(-2.228, 10.0) - 0.05) <= 5e-5);
  assert_true(fabs(sr_chance_t(1.0, 1.0) - 0.5) <= 1e-9);
  assert_true(fabs(sr_chance_t(0.0, 2.5) - 1.0) <= 1e-3);
}

/// Two rounds of two values in each take: worked out by hand.
static void
rounds_as_by_hand(void** const state)
{
  (void)state;
  static const double one[] = {1.0, 3.0, 5.0, 7.0};
  static const double other[] = {9.0, 11.0, 13.0, 15.0};
  static const size_t counts[] = {2, 2};
  const SrByRound takes[2] = {{one, counts, 2}, {other, counts, 2}};
  double difference = 0.0;
  // Means 4 and 12. Within: 4 rounds, squares 2 each, 4 left: 2. Between: 2 * 2 * 2^2 each, 2 left:
  // 16, the larger. Error sqrt(16 * (1 / 4 + 1 / 4)) = sqrt(8); 2 + 5 / 8^2 degrees of freedom
  const double chance = sr_chance_rounds(takes, &difference);
  assert_true(fabs(difference - 8.0) <= 1e-12);
  assert_true(fabs(chance - sr_chance_t(8.0 / sqrt(8.0), 2.0 + 5.0 / 64.0)) <= 1e-12);
  // One round each: nothing is known of how they differ
  const SrByRound single[2] = {{one, counts, 1}, {other, counts, 1}};
  assert_true(isnan(sr_chance_rounds(single, &difference)));
  assert_true(fabs(difference - 8.0) <= 1e-12);
  double ranks[4];
  assert_true(sr_chance_rank((double[4]){5.0, 2.0, 5.0, 9.0}, 4, ranks));
  assert_true(ranks[0] == 2.5 && ranks[1] == 1.0 && ranks[2] == 2.5 && ranks[3] == 4.0);
}

/// Fisher's tea tasting ("The Design of Experiments", 1935, chapter 2): of 70 ways to choose four
/// cups of eight one is all right, 16 have one wrong; as many on the other side.
static void
shares_as_in_print(void** const state)
{
  (void)state;
  assert_true(fabs(sr_chance_shares((SrShare){4, 4}, (SrShare){0, 4}) - 2.0 / 70.0) <= 1e-12);
  assert_true(fabs(sr_chance_shares((SrShare){3, 4}, (SrShare){1, 4}) - 34.0 / 70.0) <= 1e-12);
  assert_true(fabs(sr_chance_shares((SrShare){2, 4}, (SrShare){2, 4}) - 1.0) <= 1e-12);
  assert_true(fabs(sr_chance_shares((SrShare){0, 0}, (SrShare){2, 4}) - 1.0) <= 1e-12);
  assert_true(fabs(sr_chance_shares((SrShare){5, 5}, (SrShare){9, 9}) - 1.0) <= 1e-12);
}

static int
bits_of(unsigned number)
{
  int count = 0;
  for (; number; number >>= 1u) {
    count += (int)(number & 1u);
  }
  return count;
}

/// Sum of the ranks of the values whose bit is set, ties sharing theirs.
static double
rank_sum(const double values[16], const unsigned chosen)
{
  double sum = 0.0;
  for (unsigned i = 0; i < 16; ++i) {
    for (unsigned k = 0; k < 16 && (chosen & (1u << i)); ++k) {
      sum += values[k] < values[i] ? 1.0 : values[k] <= values[i] ? 0.5 : 0.0;
    }
  }
  return sum;
}

static int
compare_values(const void* const left, const void* const right)
{
  const double a = *(const double*)left;
  const double b = *(const double*)right;
  return (a > b) - (a < b);
}

/// Eight values, low and high in turn, so that none is like the next.
static void
alternate(const double values[8], double alternating[8])
{
  double sorted[8];
  memcpy(sorted, values, sizeof(sorted));
  qsort(sorted, 8, sizeof(double), compare_values);
  for (size_t i = 0; i < 8; ++i) {
    alternating[i] = sorted[i % 2 ? 7 - i / 2 : i / 2];
  }
}

/// Values that last say less than the same values in turn.
static void
lasting_values_say_less(void** const state)
{
  (void)state;
  const double low[8] = {1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0};
  const double high[8] = {5.5, 6.5, 7.5, 8.5, 9.5, 10.5, 11.5, 12.5};
  double one[8];
  double other[8];
  alternate(low, one);
  alternate(high, other);
  const double in_turn = sr_chance_ranks(one, 8, other, 8);
  memcpy(one, low, sizeof(one));
  memcpy(other, high, sizeof(other));
  const double lasting = sr_chance_ranks(one, 8, other, 8);
  print_message("the same values: %.3f in turn, %.3f one after the other\n", in_turn, lasting);
  assert_true(in_turn < 0.02);
  assert_true(lasting > 0.1);
}

/// All 12870 ways to deal 16 values to two samples of eight give the exact chance; the
/// approximation is held against it.
static void
ranks_as_by_counting(void** const state)
{
  (void)state;
  Random random = {3};
  double worst = 0.0;
  double worst_small = 0.0; // Where something might be told
  for (int trial = 0; trial < 24; ++trial) {
    double values[16];
    double one[8];
    double other[8];
    for (int i = 0; i < 16; ++i) {
      // Every other trial has ties
      const double value = random_normal(&random) + (i < 8 ? 0.0 : 0.12 * trial);
      values[i] = trial % 2 ? rint(2.0 * value) : value;
    }
    alternate(values, one);
    alternate(values + 8, other);
    // Mean of the sum of 8 of 16 ranks counted from a half
    const double far = fabs(rank_sum(values, 0xFFu) - 64.0);
    unsigned all = 0;
    unsigned as_far = 0;
    for (unsigned chosen = 0; chosen <= 0xFFFFu; ++chosen) {
      if (bits_of(chosen) == 8) {
        ++all;
        as_far += fabs(rank_sum(values, chosen) - 64.0) >= far - 1e-9;
      }
    }
    assert_int_equal(all, 12870);
    const double exact = (double)as_far / all;
    const double off = fabs(sr_chance_ranks(one, 8, other, 8) - exact);
    worst = fmax(worst, off);
    worst_small = exact < 0.1 ? fmax(worst_small, off) : worst_small;
  }
  print_message("Mann and Whitney, 8 and 8 values: within %.4f of the exact chance (limit 0.03), "
                "within %.4f where that is under 0.1 (limit 0.01)\n",
                worst, worst_small);
  assert_true(worst <= 0.03);
  assert_true(worst_small > 0.0 && worst_small <= 0.01);
  double few[7] = {0.0};
  double many[8] = {0.0};
  assert_true(isnan(sr_chance_ranks(few, 7, many, 8)));
  assert_true(fabs(sr_chance_ranks(many, 8, (double[8]){0.0}, 8) - 1.0) <= 1e-12);
}

/// Bars lie where they were played, at any tempo, with a first note that comes early and with notes
/// missed.
static void
bars_are_found(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(jig);
  for (int t = 0; t < 3; ++t) {
    const Manner manner = {
        USUAL_SPW * (0.8 + 0.3 * t), 4.0, 0.0, t == 2 ? 0.1 : 0.0, 1, 0.0, 0.0, 0.0, 0.0};
    Random random = {4};
    SrAssessment* const take = play(&random, phrase, &manner);
    double worst_s = 0.0;
    for (size_t bar = 0; bar < 4; ++bar) {
      double from_s = 0.0;
      double to_s = 0.0;
      assert_true(sr_round_bar_times(phrase, &take->rounds[0], bar, &from_s, &to_s));
      const double due_s = 1.0 + manner.spw * 0.75 * (double)bar;
      worst_s = fmax(worst_s, fmax(fabs(from_s - due_s), fabs(to_s - due_s - 0.75 * manner.spw)));
    }
    print_message("%.0f pulses a minute: bars within %.1f ms of where they are (limit 15)\n",
                  160.0 / manner.spw, 1e3 * worst_s);
    assert_true(worst_s <= 0.015);
    sr_assessment_del(take);
  }
  sr_phrase_del(phrase);
}

static void
other_phrases_are_refused(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(jig);
  const Manner manner = {USUAL_SPW, 4.0, 0.0, 0.0, 1, 0.0, 0.0, 0.0, 0.0};
  Random random = {5};
  SrAssessment* const take = play(&random, phrase, &manner);
  SrRound shorter = take->rounds[0];
  --shorter.note_count;
  const SrPlayedRounds other[2] = {{take->rounds, 1}, {&shorter, 1}};
  const SrPlayedRounds none[2] = {{take->rounds, 1}, {take->rounds, 0}};
  SrTwoTakes two;
  assert_int_equal(sr_two_takes_compare(phrase, other, &two, NULL), SR_BAD_ARGUMENT);
  assert_int_equal(sr_two_takes_compare(phrase, none, &two, NULL), SR_BAD_ARGUMENT);
  sr_assessment_del(take);
  sr_phrase_del(phrase);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(shares_as_in_print),
      cmocka_unit_test(t_as_in_tables),
      cmocka_unit_test(rounds_as_by_hand),
      cmocka_unit_test(ranks_as_by_counting),
      cmocka_unit_test(lasting_values_say_less),
      cmocka_unit_test(noise_is_no_difference),
      cmocka_unit_test(rounds_that_differ_are_no_difference),
      cmocka_unit_test(differences_are_told),
      cmocka_unit_test(words_are_plain),
      cmocka_unit_test(bars_are_found),
      cmocka_unit_test(other_phrases_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
