// SPDX-License-Identifier: GPL-3.0-or-later

// A player who goes straight on to a later note: from one note too few to a part that was not
// repeated. Events are those of a perfect ear; what was left out is exact by construction.

#include "played.h"

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

/// At 80 pulses a minute a whole note is 2 s.
#define SPW 2.0

static const char tune[] = "X:1\nT:Half the Chairs\nM:6/8\nL:1/8\nQ:3/8=80\nK:G\n"
                           "|:G{B}GD GBd|e{f}ed BAG|A{c}AE Ace|dBG E2D|"
                           "G{B}GD GBd|e{f}ed g2e|dBG A{c}AF|AGF G3:|\n"
                           "|:g{a}gd Bdg|f{a}fd Adf|e{f}ec Gce|dBG A2B|"
                           "cec BdB|A{c}AG F{A}FD|ecA d{f}dc|BAF G3:|\n";

static SrStatus status;

static Played played;

/// A round without the notes from `first` on, and without their time.
static void
play_without(const SrPhrase* const phrase, const size_t first, const size_t count)
{
  played.count = 0;
  const double gap = sr_fraction_value(sr_phrase_note(phrase, first + count)->start) -
                     sr_fraction_value(sr_phrase_note(phrase, first)->start);
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    if (i >= first && i < first + count) {
      continue;
    }
    const size_t played_before = i < first ? i : i - count;
    const size_t before = i == first + count ? first : i;
    const bool again = played_before > 0 && sr_phrase_note(phrase, before - 1)->midi == note->midi;
    const double place = sr_fraction_value(note->start) - (i < first ? 0.0 : gap);
    const double onset_s = 1.0 + place * SPW;
    const double end_s = onset_s + sr_fraction_value(note->length) * SPW;
    played_note(&played, note, onset_s, end_s, again);
  }
}

static size_t
slips_of(const SrRound* const round, const SrSlipKind kind, const SrSlip** const last)
{
  size_t count = 0;
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (round->slips[i].kind == kind) {
      *last = &round->slips[i];
      ++count;
    }
  }
  return count;
}

/// Whether all that was played came out as it was, and the rest as left out. Which of equal notes
/// it was cannot be known.
static bool
is_reported(const SrRound* const round, const size_t left_out)
{
  size_t right = 0;
  size_t out = 0;
  bool clean = true;
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    right += note->status == SR_NOTE_PLAYED;
    out += note->status == SR_NOTE_MISSED && note->left_out;
    clean = clean && (!note->has_cut || note->cut.verdict == SR_CUT_CLEAN);
  }
  const SrSlip* slip = NULL;
  return out == left_out && right == round->note_count - left_out && clean &&
         slips_of(round, SR_SLIP_LEFT_OUT, &slip) == 1 && slip->left_out == left_out &&
         round->slip_count == 1 && round->insertion_count == 0 && round->pulse.spread_ms < 1.0;
}

/// Any number of notes, anywhere. Of repeated notes it may be another one that is called left out,
/// and its cut a stray one, or the first of two called wrong: that sounds the same.
static void
any_stretch(void** const state)
{
  (void)state;
  static const size_t counts[] = {1, 2, 3, 4, 6, 10, 18, 22, 44, 60, 88};
  SrPhrase* const phrase = played_phrase(tune);
  const size_t notes = sr_phrase_note_count(phrase);
  for (size_t c = 0; c < sizeof(counts) / sizeof(counts[0]); ++c) {
    size_t all = 0;
    size_t reported = 0;
    for (size_t first = 5; first + counts[c] + 4 < notes; first += 5) {
      play_without(phrase, first, counts[c]);
      SrAssessment* const assessment = played_judge(&played, phrase, &status);
      assert_int_equal(status, SR_OK);
      assert_int_equal(assessment->round_count, 1);
      ++all;
      reported += is_reported(&assessment->rounds[0], counts[c]);
      sr_assessment_del(assessment);
    }
    printf("%2zu notes left out at %zu places: told so at %zu\n", counts[c], all, reported);
    assert_true((double)reported >= (counts[c] < 6 ? 0.8 : 0.9) * (double)all);
  }
  sr_phrase_del(phrase);
}

/// The first part once only: its second time is left out, and the advice names the place.
static void
forgotten_repeat(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(tune);
  size_t half = 0;
  while (sr_fraction_value(sr_phrase_note(phrase, half)->start) < 6.0) {
    ++half;
  }
  assert_int_equal(sr_phrase_note(phrase, half)->bar, 1);
  size_t second = half;
  while (sr_phrase_note(phrase, second)->bar < 9) {
    ++second;
  }
  play_without(phrase, half, second - half);
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  const SrRound* const round = &assessment->rounds[0];
  assert_true(is_reported(round, second - half));
  for (size_t i = half; i < second; ++i) {
    assert_true(round->notes[i].left_out);
    assert_true(isnan(round->notes[i].due_s));
  }
  assert_int_equal(round->slips[0].note_index, second);
  assert_int_equal(round->slips[0].bar, 9);
  assert_int_equal(round->slips[0].left_out, second - half);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

/// The long note at the end of a part held for one quaver instead of three: what follows is early
/// once, not each time.
static void
hurried(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(tune);
  size_t next = 0;
  while (sr_fraction_value(sr_phrase_note(phrase, next)->start) < 6.0) {
    ++next;
  }
  played.count = 0;
  played_round(&played, phrase, 1.0, SPW);
  const double due_s = 1.0 + 6.0 * SPW;
  for (size_t i = 0; i < played.count; ++i) {
    SrEvent* const event = &played.events[i];
    event->end_s -= event->end_s > due_s - 0.01 ? 0.5 : 0.0;
    event->onset_s -= event->onset_s > due_s - 0.01 ? 0.5 : 0.0;
  }
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->slip_count, 1);
  assert_int_equal(round->slips[0].kind, SR_SLIP_HURRIED);
  assert_int_equal(round->slips[0].note_index, next);
  assert_true(fabs(round->slips[0].wait_s + 0.5) < 0.01);
  assert_true(round->pulse.spread_ms < 1.0);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

/// The first of two equal notes did not speak, and the second came with its cut: the cut is the
/// second's, and the first is missed. At the very beginning no tempo is known yet.
static void
silent_before_a_cut(void** const state)
{
  (void)state;
  SrPhrase* const phrase =
      played_phrase("X:1\nT:Two by the Door\nM:4/4\nL:1/4\nQ:1/4=80\nK:D\n"
                    "A{c}A z2|B{d}B z2|d{f}d z2|e{f}e z2|G{B}G z2|A{c}A z2|\n");
  static const double tempos_spw[] = {1.0, 1.4, 2.0, 2.8, 4.0};
  const size_t notes = sr_phrase_note_count(phrase);
  size_t all = 0;
  size_t reported = 0;
  for (size_t n = 0; n < 5 * notes; ++n) {
    const double spw = tempos_spw[n / notes];
    const size_t silent = n % notes;
    if (silent < 2 || silent + 1 >= notes) {
      continue;
    }
    const SrPhraseNote* const second = sr_phrase_note(phrase, silent + 1);
    if (second->cut_midi < 0 || second->midi != sr_phrase_note(phrase, silent)->midi) {
      continue;
    }
    played.count = 0;
    for (size_t i = 0; i < notes; ++i) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, i);
      const double onset_s = 1.0 + sr_fraction_value(note->start) * spw;
      const bool again =
          i > 0 && i != silent + 1 && sr_phrase_note(phrase, i - 1)->midi == note->midi;
      // Held through the rest
      const SrFraction next =
          i + 1 < notes ? sr_phrase_note(phrase, i + 1)->start : sr_phrase_length(phrase);
      if (i != silent) {
        played_note(&played, note, onset_s, 1.0 + sr_fraction_value(next) * spw, again);
      }
    }
    SrAssessment* const assessment = played_judge(&played, phrase, &status);
    assert_int_equal(status, SR_OK);
    const SrNoteVerdict* const told = assessment->rounds[0].notes;
    reported += told[silent].status == SR_NOTE_MISSED &&
                told[silent + 1].status == SR_NOTE_PLAYED &&
                told[silent + 1].cut.verdict == SR_CUT_CLEAN;
    ++all;
    sr_assessment_del(assessment);
  }
  print_message("the first of two silent at %zu places: told so at %zu\n", all, reported);
  assert_int_equal(all, 25);
  assert_int_equal(reported, all);
  sr_phrase_del(phrase);
}

/// A note missed in its time is missed, and not left out.
static void
missed_in_time(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(tune);
  played.count = 0;
  played_round(&played, phrase, 1.0, SPW);
  const size_t gone = 60;
  memmove(&played.events[gone], &played.events[gone + 2],
          (played.count - gone - 2) * sizeof(SrEvent));
  played.count -= 2;
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  const SrRound* const round = &assessment->rounds[0];
  size_t missed = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    missed += round->notes[i].status == SR_NOTE_MISSED;
    assert_false(round->notes[i].left_out);
  }
  assert_int_equal(missed, 2);
  assert_int_equal(round->slip_count, 0);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

/// Cuts before the first note of a second round, and before a note that was gone back to.
static void
back_to_a_cut(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase("X:1\nT:Tapped In\nM:6/8\nL:1/8\nQ:3/8=80\nK:G\n"
                                         "{B}GDG {B}GBd|{f}edB GAB|{c}AGE DEF|{A}GBA G3|]\n");
  played.count = 0;
  const double end_s = played_round(&played, phrase, 1.0, SPW);
  const size_t one_round = played.count;
  played_round(&played, phrase, end_s + 0.3, SPW);
  // The second time: breaks off after the first note of bar 3 and takes up bar 2 again
  size_t from = one_round;
  while (played.events[from].midi != 78) { // the cut of bar 2
    ++from;
  }
  const size_t broke = from + 9;
  SrEvent rest[MOST_PLAYED / 16];
  const size_t count = played.count - from;
  assert_true(count < sizeof(rest) / sizeof(rest[0]));
  memcpy(rest, &played.events[from], count * sizeof(SrEvent));
  const double later_s = played.events[broke - 1].end_s + 0.2 - rest[0].onset_s;
  played.count = broke;
  for (size_t i = 0; i < count; ++i) {
    rest[i].onset_s += later_s;
    rest[i].end_s += later_s;
    played.events[played.count++] = rest[i];
  }
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->round_count, 2);
  for (size_t r = 0; r < 2; ++r) {
    const SrRound* const round = &assessment->rounds[r];
    for (size_t i = 0; i < round->note_count; ++i) {
      const SrNoteVerdict* const note = &round->notes[i];
      assert_int_equal(note->status, SR_NOTE_PLAYED);
      if (note->has_cut) {
        assert_int_equal(note->cut.verdict, SR_CUT_CLEAN);
      }
    }
    assert_int_equal(round->slip_count, r);
    assert_int_equal(round->insertion_count, 0);
  }
  assert_int_equal(assessment->rounds[1].slips[0].kind, SR_SLIP_RESTART);
  // A round begins with its first cut
  assert_true(fabs(assessment->rounds[0].start_s - 1.0) < 1e-9);
  assert_true(fabs(assessment->rounds[1].start_s - end_s - 0.3) < 1e-9);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

static const char quavers[] = "X:1\nT:Even Floor\nM:4/4\nL:1/8\nQ:1/4=100\nK:G\n"
                              "GBdB cAFA|GDEF GABc|dBGB AFDF|EGce dcBA|\n"
                              "GBdB cAFA|GDEF GABc|dBGB A4-|A2 FA G4|]\n";

/// Play a tune with each note's start moved by a function of its place in whole notes.
static SrAssessment*
play_moved(const SrPhrase* const phrase, double (*const place_s)(double place))
{
  played.count = 0;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const double start = sr_fraction_value(note->start);
    played_add(&played, note->midi, place_s(start),
               place_s(start + sr_fraction_value(note->length)), (double)NAN);
  }
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->round_count, 1);
  return assessment;
}

/// Straight quavers played three to one.
static double
three_to_one(const double place)
{
  const double crotchets = 4.0 * place;
  const double whole = floor(crotchets + 1e-9);
  return 1.0 + 0.6 * (whole + (crotchets - whole > 0.25 ? 0.75 : 0.0));
}

/// A quarter faster at the end than at the beginning.
static double
ever_faster(const double place)
{
  return 1.0 + 2.4 * place - 0.03 * place * place;
}

static double
one_early(const double place)
{
  return 1.0 + 2.4 * place - (fabs(place - 1.5) < 1e-9 ? 0.2 : 0.0);
}

/// Style, a tempo on its way and one note out of time are no slips.
static void
no_slips(void** const state)
{
  (void)state;
  double (*const ways[])(double) = {three_to_one, ever_faster, one_early};
  SrPhrase* const phrase = played_phrase(quavers);
  for (size_t i = 0; i < sizeof(ways) / sizeof(ways[0]); ++i) {
    SrAssessment* const assessment = play_moved(phrase, ways[i]);
    assert_int_equal(assessment->rounds[0].slip_count, 0);
    sr_assessment_del(assessment);
  }
  sr_phrase_del(phrase);
}

/// A sound on top of a long note is not the note behind it that never came.
static void
bump_in_a_note(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase("X:1\nT:Long Step\nM:6/8\nL:1/8\nQ:3/8=80\nK:G\n"
                                         "g3 edB|GAB d3|edB A3|BAG E3|]\n");
  for (int turn = 0; turn < 2; ++turn) {
    played.count = 0;
    played_round(&played, phrase, 1.0, SPW);
    // Its place is kept, and stays empty or has another sound
    SrEvent* const gone = &played.events[8];
    gone->midi = turn ? 73 : 69;
    if (turn == 0) {
      gone->onset_s = 3.55;
      gone->end_s = 3.65;
    }
    SrAssessment* const assessment = played_judge(&played, phrase, &status);
    assert_int_equal(status, SR_OK);
    const SrRound* const round = &assessment->rounds[0];
    assert_int_equal(round->notes[8].status, turn ? SR_NOTE_WRONG : SR_NOTE_MISSED);
    assert_int_equal(round->slip_count, 0);
    sr_assessment_del(assessment);
  }
  sr_phrase_del(phrase);
}

/// A cut heard on a note that sounded through makes the next one joined, and not left out, though
/// what follows is early.
static void
joined_and_early(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase("X:1\nT:One Drone\nM:6/8\nL:1/8\nQ:3/8=80\nK:G\n"
                                         "GBd edB|G{c}GB dBG|ABd edB|AGE G3|]\n");
  played.count = 0;
  played_round(&played, phrase, 1.0, SPW);
  SrEvent* const first = &played.events[6];
  assert_int_equal(first[1].midi, 72);
  first->end_s = first[2].end_s - 0.2;
  memmove(&first[2], &first[3], (played.count - 9) * sizeof(SrEvent));
  --played.count;
  for (size_t i = 8; i < played.count; ++i) {
    played.events[i].onset_s -= 0.2;
    played.events[i].end_s -= 0.2;
  }
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  const SrNoteVerdict* const note = &assessment->rounds[0].notes[7];
  assert_int_equal(note->status, SR_NOTE_PLAYED);
  assert_int_equal(note->joined, SR_YES);
  assert_int_equal(note->cut.verdict, SR_CUT_JOINED);
  assert_false(note->left_out);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

/// The first half, faultless, behind much noodling, and with octaves below: that is this phrase.
static void
half_is_enough(void** const state)
{
  (void)state;
  static const int noodle[] = {60, 64, 67, 72, 76, 79, 72, 67, 60, 65, 69, 77, 81, 77, 69, 65};
  SrPhrase* const phrase = played_phrase(quavers);
  for (int turn = 0; turn < 2; ++turn) {
    played.count = 0;
    double at_s = 1.0;
    for (size_t i = 0; i < 90 && turn == 0; ++i) {
      played_add(&played, noodle[i % 16], at_s, at_s + 0.3, (double)NAN);
      at_s += 0.3;
    }
    for (int time = 0; time < 2; ++time) {
      const size_t first = played.count;
      played_round(&played, phrase, at_s + 2.0, 2.4);
      played.count = first + 32;
      at_s = played.events[played.count - 1].end_s;
    }
    for (size_t i = played.count; turn == 1 && i-- > 0;) {
      const SrEvent* const event = &played.events[i];
      played_add(&played, event->midi - 12, event->onset_s, event->end_s, (double)NAN);
    }
    SrAssessment* const assessment = played_judge(&played, phrase, &status);
    assert_int_equal(status, SR_OK);
    assert_int_equal(assessment->round_count, 2);
    sr_assessment_del(assessment);
  }
  sr_phrase_del(phrase);
}

static uint32_t
random_below(uint32_t* const state, const uint32_t most)
{
  *state = *state * 1664525u + 1013904223u;
  return (*state >> 8) % most;
}

/// A tune of quavers that mostly go by steps, with some cuts, in G.
static SrPhrase*
random_tune(uint32_t* const random, const size_t bars)
{
  static const char* const scale[] = {"D", "E", "F", "G", "A", "B", "c", "d", "e", "f", "g", "a"};
  char abc[4096];
  int place = 3 + (int)random_below(random, 5);
  int size = snprintf(abc, sizeof(abc), "X:1\nT:At Random\nM:6/8\nL:1/8\nK:G\n");
  for (size_t i = 0; i < 6 * bars; ++i) {
    const int step = 1 + (int)(random_below(random, 10) > 5) + (int)(random_below(random, 10) > 7);
    place += random_below(random, 2) ? step : -step;
    place = place < 0 ? 1 : place > 11 ? 10 : place;
    const bool cut = random_below(random, 12) == 0 && place < 10;
    size +=
        snprintf(abc + size, sizeof(abc) - (size_t)size, "%s%s%s%s%s", cut ? "{" : "",
                 cut ? scale[place + 2] : "", cut ? "}" : "", scale[place], i % 6 == 5 ? "|" : "");
  }
  snprintf(abc + size, sizeof(abc) - (size_t)size, "]\n");
  return played_phrase(abc);
}

/// Other tunes in the same key and beat are hardly ever taken for the phrase.
static void
other_tunes(void** const state)
{
  (void)state;
  enum { TUNES = 40 };
  static const size_t bars[] = {2, 4, 8, 16};
  SrPhrase* tunes[TUNES];
  uint32_t random = 7;
  for (size_t i = 0; i < TUNES; ++i) {
    tunes[i] = random_tune(&random, bars[i % 4]);
  }
  size_t all = 0;
  size_t taken = 0;
  for (size_t i = 0; i < TUNES; ++i) {
    played.count = 0;
    played_round(&played, tunes[i], 1.0, SPW);
    for (size_t j = 0; j < TUNES; ++j) {
      SrAssessment* const assessment = played_judge(&played, tunes[j], &status);
      assert_true(assessment ? status == SR_OK : status == SR_NO_MATCH);
      assert_true(assessment || i != j);
      all += i != j;
      taken += assessment && i != j;
      sr_assessment_del(assessment);
    }
  }
  printf("of %zu other tunes %zu were taken for the phrase\n", all, taken);
  assert_true(taken * 100 <= all);
  for (size_t i = 0; i < TUNES; ++i) {
    sr_phrase_del(tunes[i]);
  }
}

/// A take that begins with a later bar: what was played is right, what comes before is left out and
/// not asked for.
static void
later_beginning(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(tune);
  const size_t notes = sr_phrase_note_count(phrase);
  size_t all = 0;
  size_t reported = 0;
  for (size_t first = 3; first + notes / 2 < notes; ++first) {
    if (sr_fraction_value(sr_phrase_note(phrase, first)->in_bar) > 1e-9) {
      continue;
    }
    play_without(phrase, 0, first);
    SrAssessment* const assessment = played_judge(&played, phrase, &status);
    assert_int_equal(status, SR_OK);
    assert_int_equal(assessment->round_count, 1);
    const SrRound* const round = &assessment->rounds[0];
    const bool right = is_reported(round, first) && sr_round_beginning(round) == first &&
                       round->asked.notes == notes - first && round->scores.cuts > 99.0 &&
                       round->scores.evenness > 99.0;
    ++all;
    reported += right;
    sr_assessment_del(assessment);
  }
  printf("beginning with a later bar: %zu of %zu told so\n", reported, all);
  assert_true(10 * reported >= 9 * all);
  sr_phrase_del(phrase);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(later_beginning),  cmocka_unit_test(any_stretch),
      cmocka_unit_test(forgotten_repeat), cmocka_unit_test(hurried),
      cmocka_unit_test(missed_in_time),   cmocka_unit_test(back_to_a_cut),
      cmocka_unit_test(other_tunes),      cmocka_unit_test(no_slips),
      cmocka_unit_test(bump_in_a_note),   cmocka_unit_test(joined_and_early),
      cmocka_unit_test(half_is_enough),   cmocka_unit_test(silent_before_a_cut),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
