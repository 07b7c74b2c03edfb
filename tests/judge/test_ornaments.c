// SPDX-License-Identifier: GPL-3.0-or-later

// Ornaments as a perfect ear would hear them: cuts and strikes are judged, of rolls, crans and
// groups nothing is blamed, and repeats in a row that ran together are reported one by one. What
// the ornaments are is common practice without a source.

#include "played.h"

#include <steadyreed/ornament.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

/// At 80 pulses of three quavers a minute.
#define SPW 2.0
#define QUAVER_S 0.25
#define GRACE_S 0.035
/// Most notes of a phrase here.
#define MOST_NOTES 64u

#define HEAD "X:1\nT:On the Stairs\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"

/// What becomes of the ornament of one note, all others being played as written.
typedef enum {
  AS_WRITTEN,
  PLAIN, ///< Without it, but parted from the note before
  LONG,
  ON_TOP, ///< The note before sounds on through it
  BARE,   ///< The note before sounds on, and nothing else
} Way;

static Played played;

static double
start_of(const SrPhrase* const phrase, const size_t i)
{
  return 1.0 + SPW * sr_fraction_value(sr_phrase_note(phrase, i)->start);
}

/// The note of a roll in thirds, or with graces before it; gives the index of its last sound.
static size_t
play_parts(const SrPhraseNote* const note, double from_s, const double end_s, const bool again)
{
  const bool roll = note->ornament == SR_ORNAMENT_ROLL;
  const double third_s = (end_s - from_s) / 3.0;
  double fall_db = again ? 30.0 : (double)NAN;
  if (roll) {
    for (int part = 0; part < 2; ++part) {
      const double at_s = from_s + third_s;
      played_add(&played, note->midi, from_s, at_s, fall_db);
      played_add(&played, note->ornament_midi[part], at_s, at_s + GRACE_S, (double)NAN);
      from_s = at_s + GRACE_S;
      fall_db = 30.0;
    }
  } else {
    for (int i = 0; i < note->ornament_count; ++i) {
      played_add(&played, note->ornament_midi[i], from_s, from_s + GRACE_S, (double)NAN);
      from_s += GRACE_S;
    }
  }
  played_add(&played, note->midi, from_s, end_s, fall_db);
  return played.count - 1;
}

/// Play a phrase, one way for each note, `shift_s` later where it has several graces.
static void
play(const SrPhrase* const phrase, const Way* const ways, const double shift_s)
{
  size_t main = 0;
  played.count = 0;
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const bool again = i > 0 && sr_phrase_note(phrase, i - 1)->midi == note->midi;
    const double from_s = start_of(phrase, i) + (note->ornament_count > 0 ? shift_s : 0.0);
    const double end_s = start_of(phrase, i) + SPW * sr_fraction_value(note->length);
    const Way way = ways ? ways[i] : AS_WRITTEN;
    if (way == ON_TOP || way == BARE) {
      if (way == ON_TOP) {
        played_add(&played, note->cut_midi, from_s, from_s + GRACE_S, (double)NAN);
      }
      played.events[main].end_s = end_s;
    } else if (note->ornament_count > 0 && way == AS_WRITTEN) {
      if (i > 0) {
        played.events[main].end_s += shift_s;
      }
      main = play_parts(note, from_s, end_s, again);
    } else {
      const double length_s = way == LONG ? 0.09 : GRACE_S;
      const bool grace = note->cut_midi >= 0 && way != PLAIN;
      if (grace) {
        played_add(&played, note->cut_midi, from_s, from_s + length_s, (double)NAN);
      } else if (again) {
        played.events[main].end_s -= 0.03;
      }
      played_add(&played, note->midi, grace ? from_s + length_s : from_s, end_s,
                 again ? 30.0 : (double)NAN);
      main = played.count - 1;
    }
  }
}

static SrAssessment*
judge(const SrPhrase* const phrase)
{
  SrStatus status = SR_OK;
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->round_count, 1);
  return assessment;
}

/// All was played, nothing besides, and in time.
static void
assert_even(const SrRound* const round)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    assert_int_equal(round->notes[i].status, SR_NOTE_PLAYED);
    assert_int_equal(round->notes[i].heard_midi, round->notes[i].midi);
  }
  assert_int_equal(round->insertion_count, 0);
  assert_int_equal(round->slip_count, 0);
  assert_true(round->scores.evenness > 99.0);
}

/// … and no cut went wrong, none was added, and no notes ran together.
static void
assert_clean(const SrRound* const round)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    assert_true(!round->notes[i].has_cut || round->notes[i].cut.verdict == SR_CUT_CLEAN);
    assert_int_not_equal(round->notes[i].joined, SR_YES);
  }
  assert_int_equal(round->air_count, 0);
}

/// Each cut and each strike, one after another, in each way.
static void
cuts_and_strikes(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(HEAD "A{G}A{c}A B{d}B{A}B|G{F}GA d{c}d{f}d|{g}f{e}f{d}e "
                                              "{B}A{c}BA|D{C}D{F}D E3|]\n");
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const bool again = i > 0 && sr_phrase_note(phrase, i - 1)->midi == note->midi;
    const bool strike = note->ornament == SR_ORNAMENT_STRIKE;
    static const SrCutVerdict verdicts[] = {SR_CUT_CLEAN, SR_CUT_ABSENT, SR_CUT_LONG, SR_CUT_JOINED,
                                            SR_CUT_JOINED};
    for (Way way = AS_WRITTEN; note->cut_midi >= 0 && way <= (again ? BARE : LONG); ++way) {
      Way ways[MOST_NOTES] = {AS_WRITTEN};
      ways[i] = way;
      play(phrase, ways, 0.0);
      SrAssessment* const assessment = judge(phrase);
      const SrRound* const round = &assessment->rounds[0];
      assert_even(round);
      for (size_t j = 0; j < round->note_count; ++j) {
        assert_int_equal(round->notes[j].has_cut, sr_phrase_note(phrase, j)->cut_midi >= 0);
        if (round->notes[j].has_cut) {
          assert_int_equal(round->notes[j].cut.verdict, j == i ? verdicts[way] : SR_CUT_CLEAN);
        }
      }
      // Only a cut or a strike that was heard has a time
      const bool heard = way != PLAIN && way != BARE;
      assert_int_equal(isfinite(round->notes[i].cut.onset_s) != 0, heard);
      assert_int_equal(round->notes[i].ornament == SR_ORNAMENT_STRIKE, strike);
      sr_assessment_del(assessment);
    }
  }
  sr_phrase_del(phrase);
}

/// A strike where a cut is written, or a cut for a strike: reported as what it was, in time, and no
/// clean one.
static void
other_side(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(HEAD "A{G}A{c}A B{d}B{A}B|G{F}GA d{c}d{f}d|{g}f{e}f{d}e "
                                              "{B}A{c}BA|D{C}D{F}D E3|]\n");
  const size_t notes = sr_phrase_note_count(phrase);
  for (size_t i = 0; i < notes; ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    if (note->cut_midi < 0) {
      continue;
    }
    const int other = note->cut_midi > note->midi ? note->midi - 2 : note->midi + 3;
    play(phrase, NULL, 0.0);
    size_t grace = 0;
    while (fabs(played.events[grace].onset_s - start_of(phrase, i)) > 1e-9) {
      ++grace;
    }
    played.events[grace].midi = other;
    SrAssessment* const assessment = judge(phrase);
    const SrRound* const round = &assessment->rounds[0];
    assert_even(round);
    assert_true(round->notes[i].has_cut);
    assert_int_equal(round->notes[i].cut.verdict, SR_CUT_ABSENT);
    assert_int_equal(round->notes[i].cut.midi, other);
    assert_true(fabs(round->notes[i].offset_ms) < 1.0);
    sr_assessment_del(assessment);
  }
  sr_phrase_del(phrase);
}

/// A roll of which the strike does not come is one in part.
static void
half_a_roll(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(HEAD "~A3 BAF|G3 GAB|A3 A2B|]\n");
  play(phrase, NULL, 0.0);
  const int strike = sr_phrase_note(phrase, 0)->ornament_midi[1];
  size_t kept = 0;
  for (size_t e = 0; e < played.count; ++e) {
    if (played.events[e].midi != strike || played.events[e].end_s > 1.8) {
      played.events[kept++] = played.events[e];
    }
  }
  assert_int_equal(kept + 1, played.count);
  played.count = kept;
  SrAssessment* const assessment = judge(phrase);
  const SrNoteVerdict* const note = &assessment->rounds[0].notes[0];
  assert_even(&assessment->rounds[0]);
  assert_int_equal(note->graces, 1);
  assert_true(sr_ornament_is_heard(note->graces));
  assert_false(sr_ornament_is_whole(note->ornament, note->graces));
  assert_true(sr_ornament_is_whole(note->ornament, 2));
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

/// A roll, and a plain long note where one is written, are right alike; so is a roll that begins
/// with its cut, and one of cuts only.
static void
rolls(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(HEAD "~A3 BAF|~G3 GAB|~A3 ~A3|{c}~B3 B2A|F2A ~D3|]\n");
  const size_t notes = sr_phrase_note_count(phrase);
  for (unsigned plain = 0; plain < 64; ++plain) {
    Way ways[MOST_NOTES] = {AS_WRITTEN};
    unsigned roll = 0;
    for (size_t i = 0; i < notes; ++i) {
      if (sr_phrase_note(phrase, i)->ornament == SR_ORNAMENT_ROLL) {
        ways[i] = plain >> roll++ & 1u ? PLAIN : AS_WRITTEN;
      }
    }
    assert_int_equal(roll, 6);
    play(phrase, ways, 0.0);
    SrAssessment* const assessment = judge(phrase);
    const SrRound* const round = &assessment->rounds[0];
    assert_even(round);
    for (size_t i = 0; i < notes; ++i) {
      const bool rolled = round->notes[i].ornament == SR_ORNAMENT_ROLL && ways[i] == AS_WRITTEN;
      assert_int_equal(round->notes[i].graces, rolled ? 2 : 0);
      assert_false(round->notes[i].has_cut);
      assert_int_not_equal(round->notes[i].joined, SR_YES);
    }
    assert_clean(round);
    sr_assessment_del(assessment);
  }
  sr_phrase_del(phrase);
}

/// Graces on the beat, before it or about it are all right; so is a plain note.
static void
groups(void** const state)
{
  (void)state;
  SrPhrase* const phrase =
      played_phrase(HEAD "{gfg}f2e {cd}BAF|{AB}A2G {FDA}D3|{ef}d2A B{cB}AG|{BAGA}G3 {FDADF}D3|]\n");
  const size_t notes = sr_phrase_note_count(phrase);
  for (int ahead = -1; ahead <= 2; ++ahead) {
    Way ways[MOST_NOTES] = {AS_WRITTEN};
    for (size_t i = 0; ahead < 0 && i < notes; ++i) {
      ways[i] = PLAIN;
    }
    play(phrase, ways, ahead > 0 ? -GRACE_S * ahead : 0.0);
    SrAssessment* const assessment = judge(phrase);
    const SrRound* const round = &assessment->rounds[0];
    assert_even(round);
    for (size_t i = 0; i < notes; ++i) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, i);
      size_t graces = 0;
      for (int k = 0; k < note->ornament_count; ++k) {
        graces += note->ornament_midi[k] != note->midi;
      }
      assert_int_equal(round->notes[i].graces, ahead < 0 ? 0 : graces);
      assert_false(round->notes[i].has_cut);
    }
    sr_assessment_del(assessment);
  }
  sr_phrase_del(phrase);
}

/// Repeats in a row of which any ran together, with a cut on top or none: each is reported as it
/// was.
static void
repeats_in_a_row(void** const state)
{
  (void)state;
  SrPhrase* const phrase =
      played_phrase(HEAD "F2D A{c}A{c}A|B{d}B{d}B{d} B2G|A{c}A{c}A F{A}F{A}F|G{B}G{B}G D3|]\n");
  const size_t notes = sr_phrase_note_count(phrase);
  for (size_t i = 0; i + 1 < notes; ++i) {
    if (sr_phrase_note(phrase, i)->cut_midi < 0 || sr_phrase_note(phrase, i + 1)->cut_midi < 0) {
      continue;
    }
    for (unsigned pair = 0; pair < 9; ++pair) {
      static const Way each[] = {AS_WRITTEN, ON_TOP, BARE};
      Way ways[MOST_NOTES] = {AS_WRITTEN};
      ways[i] = each[pair / 3];
      ways[i + 1] = each[pair % 3];
      play(phrase, ways, 0.0);
      SrAssessment* const assessment = judge(phrase);
      const SrRound* const round = &assessment->rounds[0];
      assert_even(round);
      for (size_t j = 0; j < notes; ++j) {
        const SrNoteVerdict* const note = &round->notes[j];
        const bool joined = ways[j] != AS_WRITTEN;
        assert_int_equal(note->joined == SR_YES, joined);
        if (sr_phrase_note(phrase, j)->cut_midi >= 0) {
          assert_int_equal(note->cut.verdict, joined ? SR_CUT_JOINED : SR_CUT_CLEAN);
          assert_int_equal(isfinite(note->cut.onset_s), ways[j] != BARE);
        }
      }
      sr_assessment_del(assessment);
    }
  }
  sr_phrase_del(phrase);
}

/// How a long note that is written plain is played.
typedef enum { ROLLED, CRANNED, CUT_ONCE, TWICE, THRICE, LONG_WAYS } LongWay;

/// Play one long note in one of these ways.
static void
play_long(const SrPhraseNote* const note, const LongWay way, const double from_s,
          const double end_s)
{
  static const int parts[LONG_WAYS] = {3, 3, 2, 2, 3};
  double at_s = from_s;
  for (int part = 0; part < parts[way]; ++part) {
    const double next_s = from_s + (part + 1) * (end_s - from_s) / parts[way];
    if (way < TWICE && part > 0) {
      const int grace = way == ROLLED && part == 2 ? -2 : 3;
      played_add(&played, note->midi + grace, at_s, at_s + GRACE_S, (double)NAN);
      at_s += GRACE_S;
    }
    const double gap_s = way < TWICE ? 0.0 : 0.03;
    played_add(&played, note->midi, at_s, next_s - gap_s, part > 0 ? 30.0 : (double)NAN);
    at_s = next_s;
  }
}

/// A long note that is written plain may be rolled, cranned, cut, or played as several: nothing is
/// reported of that, and its beat is its first sound.
static void
plain_long_notes(void** const state)
{
  (void)state;
  SrPhrase* const phrase =
      played_phrase(HEAD "A3 BAF|G2G GAB|A3 A3|{c}B3 B2A|D{F}DE F3|E2F G2{B}G|A2c d3|]\n");
  const size_t notes = sr_phrase_note_count(phrase);
  for (size_t i = 0; i < notes; ++i) {
    for (LongWay way = ROLLED; way < LONG_WAYS; ++way) {
      const SrPhraseNote* const note = sr_phrase_note(phrase, i);
      const double length = sr_fraction_value(note->length);
      if (length < 0.249 || note->cut_midi >= 0) {
        continue;
      }
      play(phrase, NULL, 0.0);
      size_t its = 0;
      while (fabs(played.events[its].onset_s - start_of(phrase, i)) > 1e-9) {
        ++its;
      }
      const SrEvent plain = played.events[its];
      played.events[its] = played.events[--played.count];
      play_long(note, way, plain.onset_s, plain.end_s);
      SrAssessment* const assessment = judge(phrase);
      assert_even(&assessment->rounds[0]);
      assert_clean(&assessment->rounds[0]);
      sr_assessment_del(assessment);
    }
  }
  sr_phrase_del(phrase);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cuts_and_strikes), cmocka_unit_test(rolls),
      cmocka_unit_test(groups),           cmocka_unit_test(repeats_in_a_row),
      cmocka_unit_test(plain_long_notes), cmocka_unit_test(other_side),
      cmocka_unit_test(half_a_roll),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
