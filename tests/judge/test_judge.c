// SPDX-License-Identifier: GPL-3.0-or-later

// Verdicts on events as a perfect ear would give them, one fault at a time. What makes a
// cut long or joined is common practice without a source; the tempi and offsets are exact by
// construction.

#include "played.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdbool.h>
#include <string.h>

/// At 80 pulses a minute a quaver is 0.25 s and a whole note 2 s.
#define SPW 2.0
#define QUAVER_S 0.25

static const char jig[] = "X:1\nT:Before the Session\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                          "A{c}AA d{f}dA|B{d}BG A{c}AF|GFE F{A}FD|E{G}EF D3|]\n";
/// Of the jig: notes, cuts, and places of some notes.
enum {
  NOTES = 22,
  CUTS = 6,
  FIRST_CUT_NOTE = 1,
  PLAIN_REPEAT = 2,
  LONE_NOTE = 12,
  LAST_BEFORE_REPEAT = 15
};

static SrPhrase* phrase;
static Played played;
static SrStatus status;

static int
begin(void** const state)
{
  (void)state;
  phrase = played_phrase(jig);
  played.count = 0;
  return sr_phrase_note_count(phrase) == NOTES ? 0 : -1;
}

static int
end(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  return 0;
}

/// Index of the event of note `note` of a round made by played_round() from `first` on.
static size_t
event_of(const size_t first, const size_t note)
{
  size_t event = first;
  for (size_t i = 0; i <= note; ++i) {
    event += sr_phrase_note(phrase, i)->cut_midi >= 0 ? 2 : 1;
  }
  return event - 1;
}

static void
remove_event(const size_t index)
{
  memmove(&played.events[index], &played.events[index + 1],
          (played.count - index - 1) * sizeof(SrEvent));
  --played.count;
}

static SrAssessment*
judge_well(const size_t rounds)
{
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->round_count, rounds);
  for (size_t r = 0; r < rounds; ++r) {
    assert_int_equal(assessment->rounds[r].note_count, NOTES);
  }
  return assessment;
}

static size_t
count_status(const SrRound* const round, const SrNoteStatus wanted)
{
  size_t count = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    count += round->notes[i].status == wanted;
  }
  return count;
}

static size_t
count_cuts(const SrRound* const round, const SrCutVerdict wanted)
{
  size_t count = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    count += round->notes[i].has_cut && round->notes[i].cut.verdict == wanted;
  }
  return count;
}

static bool
has_slip(const SrRound* const round, const SrSlipKind kind)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (round->slips[i].kind == kind) {
      return true;
    }
  }
  return false;
}

/// Everything but `fault`'s note is as it should be.
static void
check_only_fault(const SrRound* const round, const size_t fault)
{
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    if (i == fault) {
      continue;
    }
    assert_int_equal(note->status, SR_NOTE_PLAYED);
    assert_int_equal(note->has_cut, sr_phrase_note(phrase, i)->cut_midi >= 0);
    if (note->has_cut) {
      assert_int_equal(note->cut.verdict, SR_CUT_CLEAN);
    }
  }
}

static void
clean_round(void** const state)
{
  (void)state;
  const double end_s = played_round(&played, phrase, 1.0, SPW);
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  check_only_fault(round, SIZE_MAX);
  assert_int_equal(count_cuts(round, SR_CUT_CLEAN), CUTS);
  assert_int_equal(round->insertion_count, 0);
  assert_int_equal(round->slip_count, 0);
  assert_true(fabs(round->start_s - 1.0) < 1e-6);
  assert_true(fabs(round->end_s - end_s) < 1e-6);
  assert_true(fabs(round->pulse.played_bpm - 80.0) < 0.01);
  assert_true(fabs(round->pulse.drift_percent) < 0.01);
  assert_true(round->pulse.spread_ms < 0.01);
  assert_int_equal(round->pulse.lilt_count, 3);
  for (size_t i = 0; i < 3; ++i) {
    assert_true(fabs(round->pulse.lilt[i] - 1.0) < 1e-4);
  }
  assert_true(fabs(round->scores.cuts - 100.0) < 1e-9);
  assert_true(fabs(round->scores.evenness - 100.0) < 1e-9);
  assert_true(isnan(round->scores.air));
  assert_true(fabs(assessment->reference_hz - 440.0) < 1e-6);
  assert_true(round->advice_count >= 1);
  sr_assessment_del(assessment);
}

/// The length is from the cut's own start to where the note takes over, 4 ms before the cut has
/// half died away.
static void
long_cut(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  SrEvent* const note = &played.events[event_of(0, FIRST_CUT_NOTE)];
  note->onset_s = note[-1].onset_s + 0.09;
  note[-1].end_s = note->onset_s + 0.004;
  SrAssessment* const assessment = judge_well(1);
  const SrNoteVerdict* const verdict = &assessment->rounds[0].notes[FIRST_CUT_NOTE];
  check_only_fault(&assessment->rounds[0], FIRST_CUT_NOTE);
  assert_int_equal(verdict->status, SR_NOTE_PLAYED);
  assert_int_equal(verdict->cut.verdict, SR_CUT_LONG);
  assert_true(fabs(verdict->cut.length_ms - 90.0) < 0.01);
  assert_true(fabs(assessment->rounds[0].scores.cuts - 100.0 * 5.0 / 6.0) < 1e-6);
  assert_int_equal(verdict->bar, 1);
  sr_assessment_del(assessment);
}

/// The cut lies on top of one sound that never let go; no other time is known.
static void
joined_on_top(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  const size_t event = event_of(0, FIRST_CUT_NOTE);
  played.events[event - 2].end_s = played.events[event].end_s;
  remove_event(event);
  SrAssessment* const assessment = judge_well(1);
  const SrNoteVerdict* const verdict = &assessment->rounds[0].notes[FIRST_CUT_NOTE];
  check_only_fault(&assessment->rounds[0], FIRST_CUT_NOTE);
  assert_int_equal(verdict->joined, SR_YES);
  assert_int_equal(verdict->cut.verdict, SR_CUT_JOINED);
  assert_int_equal(count_cuts(&assessment->rounds[0], SR_CUT_CLEAN), CUTS - 1);
  sr_assessment_del(assessment);
}

/// One drone and nothing flicked.
static void
joined_bare(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  const size_t event = event_of(0, FIRST_CUT_NOTE);
  played.events[event - 2].end_s = played.events[event].end_s;
  remove_event(event);
  remove_event(event - 1);
  SrAssessment* const assessment = judge_well(1);
  const SrNoteVerdict* const verdict = &assessment->rounds[0].notes[FIRST_CUT_NOTE];
  check_only_fault(&assessment->rounds[0], FIRST_CUT_NOTE);
  assert_int_equal(verdict->joined, SR_YES);
  assert_int_equal(verdict->cut.verdict, SR_CUT_JOINED);
  assert_int_equal(verdict->cut.midi, -1);
  sr_assessment_del(assessment);
}

/// The note fell a little, by less than the setting, under its cut.
static void
joined_by_fall(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  played.events[event_of(0, FIRST_CUT_NOTE)].fall_db = 4.0;
  SrAssessment* assessment = judge_well(1);
  assert_int_equal(assessment->rounds[0].notes[FIRST_CUT_NOTE].cut.verdict, SR_CUT_JOINED);
  assert_true(fabs(assessment->rounds[0].notes[FIRST_CUT_NOTE].cut.fall_db - 4.0) < 1e-9);
  sr_assessment_del(assessment);
  // As little, but it spoke again
  played.events[event_of(0, FIRST_CUT_NOTE)].phase_kept = -0.2;
  assessment = judge_well(1);
  assert_int_equal(assessment->rounds[0].notes[FIRST_CUT_NOTE].cut.verdict, SR_CUT_CLEAN);
  sr_assessment_del(assessment);
}

/// Separated, but nothing flicked.
static void
absent_cut(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  const size_t event = event_of(0, FIRST_CUT_NOTE);
  played.events[event].onset_s = played.events[event - 1].onset_s;
  played.events[event - 2].end_s -= 0.04;
  remove_event(event - 1);
  SrAssessment* const assessment = judge_well(1);
  check_only_fault(&assessment->rounds[0], FIRST_CUT_NOTE);
  assert_int_equal(assessment->rounds[0].notes[FIRST_CUT_NOTE].cut.verdict, SR_CUT_ABSENT);
  assert_int_equal(assessment->rounds[0].notes[FIRST_CUT_NOTE].joined, SR_NO);
  sr_assessment_del(assessment);
}

/// A wrong note that is put right at once, and the rest later by what it took: one note too many,
/// and all that is written was played.
static void
corrected_at_once(void** const state)
{
  (void)state;
  static const double taken_s[] = {QUAVER_S, 0.6 * QUAVER_S};
  for (size_t note = 3; note + 1 < NOTES; ++note) {
    if (sr_phrase_note(phrase, note)->midi == sr_phrase_note(phrase, note - 1)->midi) {
      continue; // the repeated note's cut would come behind it
    }
    for (size_t t = 0; t < 2; ++t) {
      for (int apart = -2; apart <= 2; apart += apart == -1 ? 2 : 1) {
        played.count = 0;
        played_round(&played, phrase, 1.0, SPW);
        const double due_s = 1.0 + sr_fraction_value(sr_phrase_note(phrase, note)->start) * SPW;
        for (size_t i = 0; i < played.count; ++i) {
          const bool later = played.events[i].onset_s > due_s - 1e-9;
          played.events[i].onset_s += later ? taken_s[t] : 0.0;
          played.events[i].end_s += later ? taken_s[t] : 0.0;
        }
        played_add(&played, sr_phrase_note(phrase, note)->midi + apart, due_s, due_s + taken_s[t],
                   (double)NAN);
        SrAssessment* const assessment = judge_well(1);
        const SrRound* const round = &assessment->rounds[0];
        for (size_t i = 0; i < NOTES; ++i) {
          assert_int_equal(round->notes[i].status, SR_NOTE_PLAYED);
        }
        // What is short and above may be a long cut that nobody wrote
        const bool stray =
            round->notes[note].has_cut && round->notes[note].cut.verdict == SR_CUT_STRAY;
        assert_int_equal(round->insertion_count + (stray ? 1 : 0), 1);
        // A whole note later, the beat has waited: both are reported as one thing
        if (t == 0 && !stray) {
          assert_int_equal(round->slip_count, 1);
          assert_int_equal(round->slips[0].note_index, note);
          // The pitch of the note before is that note once more
          const bool again = round->insertions[0].midi == sr_phrase_note(phrase, note - 1)->midi;
          size_t which = 0;
          assert_int_equal(sr_round_insertion_kind(round, 0, &which),
                           again ? SR_INSERTION_AGAIN : SR_INSERTION_CORRECTED);
          assert_int_equal(which, again ? note - 1 : note);
          assert_true(sr_round_is_same_slip(round, &round->slips[0], 0));
        }
        sr_assessment_del(assessment);
      }
    }
  }
}

/// An even player who waits for less than a note, once: that is a wait, no change of tempo; with a
/// wrong note that took the time a still shorter one.
static void
short_wait(void** const state)
{
  (void)state;
  static const double waits_s[] = {0.1, 0.06};
  for (size_t t = 0; t < 2; ++t) {
    played.count = 0;
    played_round(&played, phrase, 1.0, SPW);
    const double due_s = 1.0 + sr_fraction_value(sr_phrase_note(phrase, LONE_NOTE)->start) * SPW;
    for (size_t i = 0; i < played.count; ++i) {
      // A little uneven, so that there is a scatter
      const double later_s = played.events[i].onset_s > due_s - 1e-9 ? waits_s[t] : 0.0;
      played.events[i].onset_s += later_s + (i % 3 == 1 ? 0.004 : 0.0);
      played.events[i].end_s += later_s;
    }
    if (t == 1) {
      played_add(&played, sr_phrase_note(phrase, LONE_NOTE)->midi - 1, due_s, due_s + 0.06,
                 (double)NAN);
    }
    SrAssessment* const assessment = judge_well(1);
    const SrRound* const round = &assessment->rounds[0];
    assert_int_equal(round->slip_count, 1);
    assert_int_equal(round->slips[0].kind, SR_SLIP_HESITATION);
    assert_int_equal(round->slips[0].note_index, LONE_NOTE);
    assert_true(fabs(round->slips[0].wait_s - waits_s[t]) < 0.01);
    assert_true(fabs(round->pulse.drift_percent) < 1.0);
    assert_true(round->scores.evenness > 95.0);
    sr_assessment_del(assessment);
  }
}

/// A cut where none is written is reported and costs nothing.
static void
stray_cut(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  SrEvent* const note = &played.events[event_of(0, PLAIN_REPEAT)];
  played_add(&played, note->midi + 3, note->onset_s, note->onset_s + 0.03, (double)NAN);
  note->onset_s += 0.03;
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(round->notes[PLAIN_REPEAT].status, SR_NOTE_PLAYED);
  assert_true(round->notes[PLAIN_REPEAT].has_cut);
  assert_int_equal(round->notes[PLAIN_REPEAT].cut.verdict, SR_CUT_STRAY);
  assert_int_equal(round->insertion_count, 0);
  assert_true(fabs(round->scores.cuts - 100.0) < 1e-9);
  sr_assessment_del(assessment);
}

static void
missed_note(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  remove_event(event_of(0, LONE_NOTE));
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  check_only_fault(round, LONE_NOTE);
  assert_int_equal(round->notes[LONE_NOTE].status, SR_NOTE_MISSED);
  assert_true(isnan(round->notes[LONE_NOTE].onset_s));
  assert_int_equal(round->notes[LONE_NOTE].heard_midi, -1);
  assert_true(round->pulse.spread_ms < 0.01);
  sr_assessment_del(assessment);
}

/// A repeated note that does not sound is missed where the one before was over by its middle,
/// though it may have had all of its own time, and joined where it was not.
static void
silent_repeat(void** const state)
{
  (void)state;
  for (int held = 0; held < 2; ++held) {
    played.count = 0;
    played_round(&played, phrase, 1.0, SPW);
    const size_t event = event_of(0, PLAIN_REPEAT);
    if (held) {
      played.events[event - 1].end_s += 0.6 * QUAVER_S;
    }
    remove_event(event);
    SrAssessment* const assessment = judge_well(1);
    const SrNoteVerdict* const note = &assessment->rounds[0].notes[PLAIN_REPEAT];
    check_only_fault(&assessment->rounds[0], PLAIN_REPEAT);
    assert_int_equal(note->status, held ? SR_NOTE_PLAYED : SR_NOTE_MISSED);
    assert_true((note->joined == SR_YES) == (held == 1));
    sr_assessment_del(assessment);
  }
}

/// Who misses the first of two and plays the second with its cut has that cut reported, and is not
/// late by its length: whatever of the notes before sounded on, whichever pair it was.
static void
cut_behind_a_missed_note(void** const state)
{
  (void)state;
  for (size_t missed = 1; missed + 1 < NOTES; ++missed) {
    if (sr_phrase_note(phrase, missed + 1)->cut_midi < 0) {
      continue;
    }
    for (int held = 0; held < 2; ++held) {
      played.count = 0;
      played_round(&played, phrase, 1.0, SPW);
      const size_t event = event_of(0, missed);
      if (held) {
        played.events[event - 1].end_s = played.events[event].end_s;
      }
      remove_event(event);
      SrAssessment* const assessment = judge_well(1);
      const SrRound* const round = &assessment->rounds[0];
      const SrNoteVerdict* const note = &round->notes[missed + 1];
      assert_int_equal(round->notes[missed].status, SR_NOTE_MISSED);
      assert_int_equal(note->status, SR_NOTE_PLAYED);
      assert_true(note->has_cut);
      assert_int_equal(note->cut.verdict, SR_CUT_CLEAN);
      assert_true(fabs(note->onset_s - played.events[event].onset_s) < 1e-6);
      assert_int_equal(round->insertion_count, 0);
      sr_assessment_del(assessment);
    }
  }
}

static void
wrong_note(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  SrEvent* const note = &played.events[event_of(0, LONE_NOTE)];
  const int heard = note->midi + 5;
  note->midi = heard;
  note->frequency_hz = sr_judge_frequency_hz(heard, 440.0);
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  check_only_fault(round, LONE_NOTE);
  assert_int_equal(round->notes[LONE_NOTE].status, SR_NOTE_WRONG);
  assert_int_equal(round->notes[LONE_NOTE].heard_midi, heard);
  assert_int_equal(round->insertion_count, 0);
  sr_assessment_del(assessment);
}

/// The microphone failed: nobody missed anything.
static void
unheard_note(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  SrEvent* const note = &played.events[event_of(0, LONE_NOTE)];
  note->kind = SR_EVENT_UNHEARD;
  note->midi = -1;
  note->onset_s -= 0.02;
  SrAssessment* const assessment = judge_well(1);
  assert_int_equal(assessment->rounds[0].notes[LONE_NOTE].status, SR_NOTE_UNHEARD);
  assert_int_equal(count_status(&assessment->rounds[0], SR_NOTE_MISSED), 0);
  sr_assessment_del(assessment);
}

/// Below the tune's lowest note, where the octave above is written: heard as that, and reported as
/// what it is.
static void
wrong_note_below(void** const state)
{
  (void)state;
  for (int below = 0; below <= 1; ++below) {
    played.count = 0;
    played_round(&played, phrase, 1.0, SPW);
    SrEvent* const note = &played.events[event_of(0, LONE_NOTE)];
    note->midi = sr_phrase_note(phrase, LONE_NOTE)->midi + 9;
    note->octave_below = below;
    SrAssessment* const assessment = judge_well(1);
    const SrRound* const round = &assessment->rounds[0];
    check_only_fault(round, LONE_NOTE);
    assert_int_equal(round->notes[LONE_NOTE].status, SR_NOTE_WRONG);
    assert_int_equal(round->notes[LONE_NOTE].heard_midi, note->midi - 12 * below);
    sr_assessment_del(assessment);
  }
}

static void
extra_note(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  SrEvent* const note = &played.events[event_of(0, LONE_NOTE)];
  const double onset_s = note->onset_s + 0.13;
  note->end_s = onset_s;
  played_add(&played, 85, onset_s, onset_s + 0.12, (double)NAN);
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  check_only_fault(round, SIZE_MAX);
  assert_int_equal(round->insertion_count, 1);
  assert_int_equal(round->insertions[0].midi, 85);
  assert_true(fabs(round->insertions[0].onset_s - onset_s) < 1e-9);
  size_t near = 0;
  assert_int_equal(sr_round_insertion_kind(round, 0, &near), SR_INSERTION_OTHER);
  assert_int_equal(near, LONE_NOTE + 1);
  sr_assessment_del(assessment);
}

/// An octave under the melody is the accompaniment of the style, no extra note.
static void
octaves_under(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  const size_t count = played.count;
  for (size_t i = 0; i < count; ++i) {
    const SrEvent* const note = &played.events[i];
    if (note->end_s - note->onset_s > 0.1) {
      played_add(&played, note->midi - 12, note->onset_s + 0.004, note->end_s, note->fall_db);
    }
  }
  SrAssessment* const assessment = judge_well(1);
  check_only_fault(&assessment->rounds[0], SIZE_MAX);
  assert_int_equal(assessment->rounds[0].insertion_count, 0);
  sr_assessment_del(assessment);
}

/// Written chords played exactly are right, and nothing in them is a note too many.
static void
chords(void** const state)
{
  (void)state;
  static Played heard;
  SrPhrase* const written =
      played_phrase("X:1\nT:Two Doors and a Window Between\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"
                    "[DA]3 AFD|[GB]2 A [DG]3|\n");
  const double spw = 2.0;
  for (size_t i = 0; i < sr_phrase_note_count(written); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(written, i);
    const double onset_s = 1.0 + spw * sr_fraction_value(note->start);
    const double end_s = onset_s + spw * sr_fraction_value(note->length);
    // Whichever of its reeds is the quicker one
    for (int c = 0; c < note->chord_count; ++c) {
      played_add(&heard, note->chord_midi[c], onset_s + (i % 2 ? 0.008 : -0.008), end_s - 0.01,
                 (double)NAN);
    }
    played_add(&heard, note->midi, onset_s, end_s, i == 1 ? 60.0 : (double)NAN);
  }
  SrAssessment* const assessment = played_judge(&heard, written, &status);
  assert_int_equal(status, SR_OK);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(count_status(round, SR_NOTE_PLAYED), round->note_count);
  assert_int_equal(round->insertion_count, 0);
  assert_true(round->scores.evenness > 99.9);
  sr_assessment_del(assessment);
  sr_phrase_del(written);
}

/// What sounds below the melody is no note of it; another note in the place of one still is wrong.
static void
left_hand(void** const state)
{
  (void)state;
  const double end_s = played_round(&played, phrase, 1.0, 2.0);
  SrEvent* const slip = &played.events[event_of(0, LONE_NOTE)];
  slip->midi -= 3;
  for (double at_s = 1.0; at_s < end_s - 0.3; at_s += 0.75) {
    played_add(&played, 50, at_s + 0.012, at_s + 0.6, (double)NAN);
    played_add(&played, 57, at_s - 0.009, at_s + 0.2, (double)NAN);
  }
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(count_status(round, SR_NOTE_PLAYED), NOTES - 1);
  assert_int_equal(round->notes[LONE_NOTE].status, SR_NOTE_WRONG);
  assert_int_equal(round->insertion_count, 0);
  assert_int_equal(count_cuts(round, SR_CUT_CLEAN), CUTS);
  assert_true(round->scores.evenness > 99.0);
  sr_assessment_del(assessment);
}

/// A doubled note whose beginning was heard as its octave above is one note, from there on.
static void
octave_head(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  SrEvent* const note = &played.events[event_of(0, LONE_NOTE)];
  const double onset_s = note->onset_s;
  note->onset_s += 0.05;
  played_add(&played, note->midi + 12, onset_s, onset_s + 0.048, (double)NAN);
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  check_only_fault(round, SIZE_MAX);
  assert_int_equal(round->insertion_count, 0);
  assert_true(fabs(round->notes[LONE_NOTE].onset_s - onset_s) < 1e-9);
  sr_assessment_del(assessment);
}

/// One note late by 40 ms is reported, in its place, and costs evenness.
static void
late_note(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  played.events[event_of(0, LONE_NOTE)].onset_s += 0.04;
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  assert_true(fabs(round->notes[LONE_NOTE].offset_ms - 40.0) < 3.0);
  for (size_t i = 0; i < NOTES; ++i) {
    assert_true(i == LONE_NOTE || fabs(round->notes[i].offset_ms) < 4.0);
  }
  assert_true(round->scores.evenness < 100.0);
  sr_assessment_del(assessment);
}

/// A constant lilt is style: it is reported exactly and costs nothing.
static void
constant_lilt(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  size_t event = 0;
  for (size_t i = 0; i < NOTES; ++i) {
    const bool cut = sr_phrase_note(phrase, i)->cut_midi >= 0;
    const double at = sr_fraction_value(sr_phrase_note(phrase, i)->start) * 8.0;
    const long place = lround(at) % 3;
    const double later_s = place == 1 ? 0.03 : place == 2 ? 0.02 : 0.0;
    played.events[event].onset_s += later_s;
    if (cut) {
      played.events[event].end_s += later_s;
      played.events[++event].onset_s += later_s;
    }
    ++event;
  }
  SrAssessment* const assessment = judge_well(1);
  const SrPulse* const pulse = &assessment->rounds[0].pulse;
  assert_int_equal(pulse->lilt_count, 3);
  // 280, 240 and 230 ms of a pulse of 750
  assert_true(fabs(pulse->lilt[0] - 280.0 / 250.0) < 0.005);
  assert_true(fabs(pulse->lilt[1] - 240.0 / 250.0) < 0.005);
  assert_true(fabs(pulse->lilt[2] - 230.0 / 250.0) < 0.005);
  assert_true(pulse->spread_ms < 1.0);
  assert_true(assessment->rounds[0].scores.evenness > 99.0);
  sr_assessment_del(assessment);
}

/// From 76 to 84 pulses a minute, in even steps of a second's share.
static void
drift(void** const state)
{
  (void)state;
  played_round(&played, phrase, 0.0, SPW);
  // A tempo that rises in a straight line over the pulses played: t(x) = a x + b x^2
  for (size_t i = 0; i < played.count; ++i) {
    double* const times[] = {&played.events[i].onset_s, &played.events[i].end_s};
    for (size_t j = 0; j < 2; ++j) {
      const double pulses = *times[j] * 80.0 / 60.0;
      *times[j] = 1.0 + pulses * 60.0 / 76.0 - pulses * pulses * (60.0 / 76.0 - 60.0 / 84.0) / 16.0;
    }
  }
  SrAssessment* const assessment = judge_well(1);
  const SrPulse* const pulse = &assessment->rounds[0].pulse;
  // The last onset stands at pulse 7 of 8: there the tempo is 82.9
  assert_true(fabs(pulse->drift_percent - 100.0 * (82.9 / 76.0 - 1.0)) < 1.0);
  assert_true(pulse->spread_ms < 1.0);
  sr_assessment_del(assessment);
}

static void
two_rounds(void** const state)
{
  (void)state;
  const double end_s = played_round(&played, phrase, 1.0, SPW);
  const size_t second = played.count;
  played_round(&played, phrase, end_s + 1.7, 0.9 * SPW);
  remove_event(event_of(second, LONE_NOTE));
  SrAssessment* const assessment = judge_well(2);
  check_only_fault(&assessment->rounds[0], SIZE_MAX);
  check_only_fault(&assessment->rounds[1], LONE_NOTE);
  assert_true(fabs(assessment->rounds[0].pulse.played_bpm - 80.0) < 0.01);
  assert_true(fabs(assessment->rounds[1].pulse.played_bpm - 80.0 / 0.9) < 0.01);
  sr_assessment_del(assessment);
}

/// Four notes, a breath, and again from the start: one round with a slip.
static void
false_start(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  played.count = event_of(0, 3) + 1;
  played_round(&played, phrase, 3.5, SPW);
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  check_only_fault(round, SIZE_MAX);
  assert_true(has_slip(round, SR_SLIP_FALSE_START));
  assert_true(round->pulse.spread_ms < 0.1);
  sr_assessment_del(assessment);
}

static size_t
count_slips(const SrRound* const round, const SrSlipKind kind)
{
  size_t count = 0;
  for (size_t i = 0; i < round->slip_count; ++i) {
    count += round->slips[i].kind == kind;
  }
  return count;
}

/// However many false starts there are, each is reported.
static void
many_false_starts(void** const state)
{
  (void)state;
  enum { STARTS = 40 };
  for (size_t i = 0; i < STARTS; ++i) {
    const size_t first = played.count;
    played_round(&played, phrase, 1.0 + 2.5 * (double)i, SPW);
    played.count = event_of(first, 3) + 1;
  }
  played_round(&played, phrase, 1.0 + 2.5 * STARTS, SPW);
  SrAssessment* const assessment = judge_well(1);
  check_only_fault(&assessment->rounds[0], SIZE_MAX);
  assert_int_equal(count_slips(&assessment->rounds[0], SR_SLIP_FALSE_START), STARTS);
  sr_assessment_del(assessment);
}

/// Broke off in bar 3, went back to its start, and on to the end.
static void
restart(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  const size_t back = event_of(0, LONE_NOTE);
  const size_t broke = event_of(0, LONE_NOTE + 2);
  SrEvent again[MOST_PLAYED / 8];
  const size_t rest = played.count - back;
  assert_true(rest < sizeof(again) / sizeof(again[0]));
  memcpy(again, &played.events[back], rest * sizeof(SrEvent));
  played.count = broke + 1;
  for (size_t i = 0; i < rest; ++i) {
    SrEvent event = again[i];
    event.onset_s += 4.0 * QUAVER_S;
    event.end_s += 4.0 * QUAVER_S;
    played.events[played.count++] = event;
  }
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(count_status(round, SR_NOTE_PLAYED), NOTES);
  assert_int_equal(count_cuts(round, SR_CUT_CLEAN), CUTS);
  assert_true(has_slip(round, SR_SLIP_RESTART));
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (round->slips[i].kind == SR_SLIP_RESTART) {
      assert_int_equal(round->slips[i].note_index, LONE_NOTE);
      assert_int_equal(round->slips[i].bar, 3);
    }
  }
  sr_assessment_del(assessment);
}

/// A wait before a note is one slip, and the notes behind it are not all late.
static void
hesitation(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  for (size_t i = event_of(0, LONE_NOTE); i < played.count; ++i) {
    played.events[i].onset_s += 0.6;
    played.events[i].end_s += 0.6;
  }
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  check_only_fault(round, SIZE_MAX);
  assert_int_equal(round->slip_count, 1);
  assert_int_equal(round->slips[0].kind, SR_SLIP_HESITATION);
  assert_int_equal(round->slips[0].note_index, LONE_NOTE);
  assert_true(fabs(round->slips[0].wait_s - 0.6) < 0.01);
  assert_true(round->pulse.spread_ms < 1.0);
  sr_assessment_del(assessment);
}

/// However many waits there are, each is reported, and nothing behind it is late.
static void
many_hesitations(void** const state)
{
  (void)state;
  enum { BARS = 120, WAITS = 26 };
  char abc[64 + 8 * BARS] = "X:1\nM:6/8\nL:1/8\nK:D\n";
  for (size_t bar = 0; bar < BARS; ++bar) {
    strcat(abc, bar % 2 ? "ABcdef|" : "DEFGAB|");
  }
  strcat(abc, "\n");
  SrPhrase* const scales = played_phrase(abc);
  played_round(&played, scales, 1.0, SPW);
  for (size_t w = 0; w < WAITS; ++w) {
    for (size_t i = 26 * (w + 1) + w % 4; i < played.count; ++i) {
      played.events[i].onset_s += 0.6;
      played.events[i].end_s += 0.6;
    }
  }
  SrStatus outcome = SR_OK;
  SrAssessment* const assessment = played_judge(&played, scales, &outcome);
  assert_int_equal(outcome, SR_OK);
  assert_int_equal(assessment->round_count, 1);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(count_status(round, SR_NOTE_PLAYED), 6 * BARS);
  assert_int_equal(count_slips(round, SR_SLIP_HESITATION), WAITS);
  assert_true(round->pulse.spread_ms < 1.0);
  for (size_t i = 0; i < round->note_count; ++i) {
    assert_true(fabs(round->notes[i].offset_ms) < 5.0);
  }
  sr_assessment_del(assessment);
  sr_phrase_del(scales);
}

/// What was never reached is missed, and where it stopped is reported.
static void
stopped(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  played.count = event_of(0, LONE_NOTE) + 1;
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  assert_int_equal(count_status(round, SR_NOTE_PLAYED), LONE_NOTE + 1);
  assert_true(has_slip(round, SR_SLIP_STOPPED));
  sr_assessment_del(assessment);
}

/// Who stopped before a note of the same pitch did not run into it, unless the sound lasted as
/// long.
static void
stopped_before_a_repeat(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  played.count = event_of(0, LAST_BEFORE_REPEAT) + 1;
  SrEvent* const last = &played.events[played.count - 1];
  SrAssessment* assessment = judge_well(1);
  assert_int_equal(count_status(&assessment->rounds[0], SR_NOTE_PLAYED), LAST_BEFORE_REPEAT + 1);
  assert_true(has_slip(&assessment->rounds[0], SR_SLIP_STOPPED));
  sr_assessment_del(assessment);
  last->end_s += 0.8 * QUAVER_S;
  assessment = judge_well(1);
  assert_int_equal(count_status(&assessment->rounds[0], SR_NOTE_PLAYED), LAST_BEFORE_REPEAT + 2);
  assert_int_equal(assessment->rounds[0].notes[LAST_BEFORE_REPEAT + 1].joined, SR_YES);
  sr_assessment_del(assessment);
  // A wait shortly before does not make the notes longer
  for (size_t i = event_of(0, LONE_NOTE); i < played.count; ++i) {
    played.events[i].onset_s += 1.0;
    played.events[i].end_s += 1.0;
  }
  assessment = judge_well(1);
  assert_int_equal(count_status(&assessment->rounds[0], SR_NOTE_PLAYED), LAST_BEFORE_REPEAT + 2);
  sr_assessment_del(assessment);
}

static void
another_tune(void** const state)
{
  (void)state;
  static const int scale[] = {60, 64, 67, 72, 76, 79, 72, 67, 60, 65, 69, 77, 81, 77, 69, 65};
  for (size_t i = 0; i < 48; ++i) {
    const double onset_s = 1.0 + 0.3 * (double)i;
    played_add(&played, scale[i % 16], onset_s, onset_s + 0.3, (double)NAN);
  }
  assert_null(played_judge(&played, phrase, &status));
  assert_int_equal(status, SR_NO_MATCH);
}

static void
nothing(void** const state)
{
  (void)state;
  assert_null(played_judge(&played, phrase, &status));
  assert_int_equal(status, SR_NOTHING_HEARD);
  played_add(&played, -1, 0.0, 5.0, (double)NAN)->kind = SR_EVENT_UNHEARD;
  assert_null(played_judge(&played, phrase, &status));
  assert_int_equal(status, SR_NOTHING_HEARD);
}

/// Events may come in any order.
static void
any_order(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  played.events[event_of(0, LONE_NOTE)].onset_s += 0.02;
  SrAssessment* const one = judge_well(1);
  uint32_t random = 1;
  for (size_t i = played.count; i-- > 1;) {
    random = random * 1664525u + 1013904223u;
    const size_t j = (random >> 8) % (i + 1);
    const SrEvent event = played.events[i];
    played.events[i] = played.events[j];
    played.events[j] = event;
  }
  SrAssessment* const two = judge_well(1);
  for (size_t i = 0; i < NOTES; ++i) {
    const SrNoteVerdict* const a = &one->rounds[0].notes[i];
    const SrNoteVerdict* const b = &two->rounds[0].notes[i];
    assert_int_equal(a->status, b->status);
    assert_memory_equal(&a->onset_s, &b->onset_s, sizeof(double));
    assert_memory_equal(&a->offset_ms, &b->offset_ms, sizeof(double));
    assert_int_equal(a->cut.verdict, b->cut.verdict);
  }
  sr_assessment_del(one);
  sr_assessment_del(two);
}

/// A box a quarter of a semitone low is in tune with itself; one reed off is not.
static void
tuning(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  for (size_t i = 0; i < played.count; ++i) {
    const double cents = played.events[i].midi == 71 ? 12.0 : 0.0;
    played.events[i].frequency_hz =
        sr_judge_frequency_hz(played.events[i].midi + cents / 100.0, 433.7);
  }
  SrAssessment* const assessment = judge_well(1);
  const SrRound* const round = &assessment->rounds[0];
  assert_true(fabs(1200.0 * log2(assessment->reference_hz / 433.7)) < 3.0);
  double others = 0.0;
  double one = 0.0;
  for (size_t i = 0; i < NOTES; ++i) {
    *(round->notes[i].midi == 71 ? &one : &others) = round->notes[i].cents;
  }
  assert_true(fabs(one - others - 12.0) < 0.1);
  sr_assessment_del(assessment);
}

/// A click asked for is compared with, and a free tempo is not.
static void
target_tempo(void** const state)
{
  (void)state;
  played_round(&played, phrase, 1.0, SPW);
  SrJudgeSettings settings = sr_judge_settings_default();
  const SrTakeFacts facts = {.path = "test", .seconds = 100.0, .rate_hz = 44100.0};
  const SrHeard heard = {.events = played.events, .event_count = played.count};
  SrAssessment* assessment = NULL;
  settings.target_bpm = 78.0;
  settings.long_cut_ms = 25.0;
  assert_int_equal(sr_judge_take(phrase, &heard, &facts, &settings, &assessment, NULL), SR_OK);
  assert_true(fabs(assessment->rounds[0].pulse.target_bpm - 78.0) < 1e-9);
  assert_true(fabs(assessment->rounds[0].pulse.played_bpm - 80.0) < 0.01);
  assert_int_equal(count_cuts(&assessment->rounds[0], SR_CUT_LONG), CUTS);
  sr_assessment_del(assessment);
  assessment = judge_well(1);
  assert_true(isnan(assessment->rounds[0].pulse.target_bpm));
  sr_assessment_del(assessment);
}

/// A fault before the first whole bar lies in bar 0.
static void
fault_in_the_pickup(void** const state)
{
  (void)state;
  SrPhrase* const tune = played_phrase("X:1\nT:From the Door\nM:4/4\nL:1/8\nQ:1/4=100\nK:G\n"
                                       "G{B}G|BdBd gdBd|ecAF G2G2|]\n");
  Played other = {0};
  played_round(&other, tune, 1.0, 2.4);
  other.events[2].onset_s = other.events[1].onset_s + 0.1;
  other.events[1].end_s = other.events[2].onset_s;
  SrAssessment* const assessment = played_judge(&other, tune, &status);
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->rounds[0].notes[1].cut.verdict, SR_CUT_LONG);
  assert_int_equal(assessment->rounds[0].notes[1].bar, 0);
  sr_assessment_del(assessment);
  sr_phrase_del(tune);
}

#define JUDGE_TEST(test) cmocka_unit_test_setup_teardown(test, begin, end)

int
main(void)
{
  const struct CMUnitTest tests[] = {
      JUDGE_TEST(clean_round),       JUDGE_TEST(long_cut),
      JUDGE_TEST(joined_on_top),     JUDGE_TEST(joined_bare),
      JUDGE_TEST(joined_by_fall),    JUDGE_TEST(absent_cut),
      JUDGE_TEST(stray_cut),         JUDGE_TEST(missed_note),
      JUDGE_TEST(wrong_note),        JUDGE_TEST(unheard_note),
      JUDGE_TEST(wrong_note_below),  JUDGE_TEST(extra_note),
      JUDGE_TEST(octaves_under),     JUDGE_TEST(late_note),
      JUDGE_TEST(constant_lilt),     JUDGE_TEST(drift),
      JUDGE_TEST(two_rounds),        JUDGE_TEST(false_start),
      JUDGE_TEST(many_false_starts), JUDGE_TEST(restart),
      JUDGE_TEST(hesitation),        JUDGE_TEST(many_hesitations),
      JUDGE_TEST(stopped),           JUDGE_TEST(stopped_before_a_repeat),
      JUDGE_TEST(another_tune),      JUDGE_TEST(nothing),
      JUDGE_TEST(any_order),         JUDGE_TEST(tuning),
      JUDGE_TEST(target_tempo),      JUDGE_TEST(fault_in_the_pickup),
      JUDGE_TEST(octave_head),       JUDGE_TEST(chords),
      JUDGE_TEST(left_hand),         JUDGE_TEST(cut_behind_a_missed_note),
      JUDGE_TEST(silent_repeat),     JUDGE_TEST(corrected_at_once),
      JUDGE_TEST(short_wait),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
