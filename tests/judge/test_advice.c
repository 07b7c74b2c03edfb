// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_advice.c
   The sentences of advice, whole: a clean round in which one thing is changed, and the line that it
   gives. What comes of a playing is tested field by field elsewhere.
*/

#include "judge/advice.h"
#include "show/fault_list.h"

#include "played.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/// Notes 0 to 2 are the pickup, then six to a bar. Note 3 has a cut, note 9 a strike.
#define TUNE                                                                                       \
  "X:1\nT:The Lamp\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"                                                 \
  "AFD|E{A}EF DEF|G{F}GA Bcd|FFD EFG|BBA FED|]\n"
#define CUT_NOTE 4
#define STRIKE_NOTE 10
#define PLAIN_REPEAT 16

typedef void Fault(SrRound* round);

static SrPhrase* phrase;

static void
nothing(SrRound* const round)
{
  (void)round;
}

static void
nothing_without_a_tempo(SrRound* const round)
{
  round->pulse.played_bpm = (double)NAN;
}

static void
give_cut(SrRound* const round, const size_t note, const SrCutVerdict verdict,
         const double length_ms)
{
  round->notes[note].has_cut = true;
  round->notes[note].cut.verdict = verdict;
  round->notes[note].cut.length_ms = length_ms;
}

static void
long_cut(SrRound* const round)
{
  give_cut(round, CUT_NOTE, SR_CUT_LONG, 90.0);
}

static void
long_strike(SrRound* const round)
{
  give_cut(round, STRIKE_NOTE, SR_CUT_LONG, 85.0);
}

/// The longest is named.
static void
two_long_cuts(SrRound* const round)
{
  give_cut(round, CUT_NOTE, SR_CUT_LONG, 90.0);
  give_cut(round, STRIKE_NOTE, SR_CUT_LONG, 85.0);
}

static void
joined_with_a_cut(SrRound* const round)
{
  give_cut(round, CUT_NOTE, SR_CUT_JOINED, 30.0);
  round->notes[CUT_NOTE].cut.onset_s = 2.0;
}

static void
joined_without_a_cut(SrRound* const round)
{
  give_cut(round, CUT_NOTE, SR_CUT_JOINED, (double)NAN);
  round->notes[CUT_NOTE].cut.onset_s = (double)NAN;
}

static void
absent_cut(SrRound* const round)
{
  give_cut(round, CUT_NOTE, SR_CUT_ABSENT, (double)NAN);
  round->notes[CUT_NOTE].cut.midi = -1;
}

static void
absent_strike(SrRound* const round)
{
  give_cut(round, STRIKE_NOTE, SR_CUT_ABSENT, (double)NAN);
  round->notes[STRIKE_NOTE].cut.midi = -1;
}

static void
strike_for_a_cut(SrRound* const round)
{
  give_cut(round, CUT_NOTE, SR_CUT_ABSENT, (double)NAN);
  round->notes[CUT_NOTE].cut.midi = round->notes[CUT_NOTE].midi - 2;
}

static void
cut_for_a_strike(SrRound* const round)
{
  give_cut(round, STRIKE_NOTE, SR_CUT_ABSENT, (double)NAN);
  round->notes[STRIKE_NOTE].cut.midi = round->notes[STRIKE_NOTE].midi + 2;
}

static void
joined_repeat(SrRound* const round)
{
  round->notes[PLAIN_REPEAT].joined = SR_YES;
}

static void
stray_cut(SrRound* const round)
{
  give_cut(round, PLAIN_REPEAT, SR_CUT_STRAY, 30.0);
}

static void
stray_cuts(SrRound* const round)
{
  for (size_t i = 0; i < 5; ++i) {
    give_cut(round, PLAIN_REPEAT + i, SR_CUT_STRAY, 30.0);
  }
}

static void
make_wrong(SrRound* const round, const size_t note, const int step)
{
  round->notes[note].status = SR_NOTE_WRONG;
  round->notes[note].heard_midi = round->notes[note].midi + step;
}

static void
wrong_higher(SrRound* const round)
{
  make_wrong(round, 8, 9);
}

static void
wrong_lower(SrRound* const round)
{
  make_wrong(round, 8, -1);
}

static void
miss(SrRound* const round, const size_t note)
{
  round->notes[note].status = SR_NOTE_MISSED;
  round->notes[note].onset_s = (double)NAN;
}

static void
missed_in_the_pickup(SrRound* const round)
{
  miss(round, 1);
}

static void
two_missed(SrRound* const round)
{
  miss(round, 8);
  miss(round, 17);
}

/// Another sound, half way from the note before to a note.
static void
add_extra(SrRound* const round, const size_t note, const int midi)
{
  const double from_s = round->notes[note - 1].onset_s;
  const double to_s = round->notes[note].onset_s;
  free(round->insertions);
  round->insertions = (SrInsertion*)calloc(1, sizeof(SrInsertion));
  assert_non_null(round->insertions);
  round->insertions[0] = (SrInsertion){from_s + 0.5 * (to_s - from_s), to_s, midi};
  round->insertion_count = 1;
}

static void
another_note(SrRound* const round)
{
  add_extra(round, 14, 85);
}

static void
note_twice(SrRound* const round)
{
  add_extra(round, 14, round->notes[13].midi);
}

/// Where another note was in its place, the right one came late.
static void
self_corrected(SrRound* const round)
{
  add_extra(round, 14, 85);
  round->notes[14].due_s = round->insertions[0].onset_s;
}

static void
add_slip(SrRound* const round, const SrSlip slip)
{
  SrSlip placed = slip;
  placed.bar = round->notes[slip.note_index].bar;
  placed.at_s = round->notes[slip.note_index].due_s;
  assert_true(sr_round_add_slip(round, placed));
}

static void
hesitation(SrRound* const round)
{
  add_slip(round, (SrSlip){.kind = SR_SLIP_HESITATION, .note_index = 12, .wait_s = 1.0});
}

static void
wait_for_a_correction(SrRound* const round)
{
  self_corrected(round);
  add_slip(round, (SrSlip){.kind = SR_SLIP_HESITATION, .note_index = 14, .wait_s = 0.5});
}

static void
wait_after_a_note_twice(SrRound* const round)
{
  note_twice(round);
  add_slip(round, (SrSlip){.kind = SR_SLIP_HESITATION, .note_index = 14, .wait_s = 0.5});
}

static void
hurried(SrRound* const round)
{
  add_slip(round, (SrSlip){.kind = SR_SLIP_HURRIED, .note_index = 12, .wait_s = -0.4});
}

static void
restart(SrRound* const round)
{
  add_slip(round, (SrSlip){.kind = SR_SLIP_RESTART, .note_index = 12, .wait_s = (double)NAN});
}

static void
false_start(SrRound* const round)
{
  add_slip(round, (SrSlip){.kind = SR_SLIP_FALSE_START, .note_index = 2, .wait_s = (double)NAN});
}

static void
stopped(SrRound* const round)
{
  add_slip(round, (SrSlip){.kind = SR_SLIP_STOPPED, .note_index = 20, .wait_s = (double)NAN});
}

static void
left_out(SrRound* const round)
{
  add_slip(
      round,
      (SrSlip){.kind = SR_SLIP_LEFT_OUT, .note_index = 15, .left_out = 6, .wait_s = (double)NAN});
}

static void
late_beginning(SrRound* const round)
{
  add_slip(
      round,
      (SrSlip){.kind = SR_SLIP_LEFT_OUT, .note_index = 9, .left_out = 9, .wait_s = (double)NAN});
}

static void
slower_stretch(SrRound* const round)
{
  add_slip(round, (SrSlip){.kind = SR_SLIP_OTHER_TEMPO,
                           .note_index = 9,
                           .until = 21,
                           .wait_s = 0.8,
                           .longer_percent = 25.0});
}

static void
faster_stretch(SrRound* const round)
{
  add_slip(round, (SrSlip){.kind = SR_SLIP_OTHER_TEMPO,
                           .note_index = 9,
                           .until = 15,
                           .wait_s = -0.3,
                           .longer_percent = -20.0});
}

static void
uneven_note(SrRound* const round)
{
  round->notes[12].offset_ms = 80.0;
  round->pulse.spread_ms = 20.0;
  round->scores.evenness = 60.0;
}

static void
early_note(SrRound* const round)
{
  uneven_note(round);
  round->notes[12].offset_ms = -80.0;
}

static void
change_tempo(SrRound* const round, const double drift_percent, const double change_percent)
{
  round->pulse.drift_percent = drift_percent;
  round->pulse.change_percent = change_percent;
  round->pulse.first_bpm = 80.0;
  round->pulse.last_bpm = 80.0 * (1.0 + drift_percent / 100.0);
  round->pulse.jump_note = round->note_count;
}

static void
sped_up(SrRound* const round)
{
  change_tempo(round, 20.0, 20.0);
}

static void
slowed_down(SrRound* const round)
{
  change_tempo(round, -20.0, 22.0);
}

static void
up_and_down(SrRound* const round)
{
  change_tempo(round, 2.0, 20.0);
}

static void
jumped(SrRound* const round)
{
  change_tempo(round, 25.0, 25.0);
  round->pulse.jump_note = 15;
}

static void
alone_too_fast(SrRound* const round)
{
  free(round->alone);
  round->alone = (SrAlone*)calloc(1, sizeof(SrAlone));
  assert_non_null(round->alone);
  round->alone[0] = (SrAlone){.silence = {2.0, 8.0, 4}, .offset_ms = -110.0, .tempo_percent = 1.9};
  round->alone_count = 1;
}

static void
alone_one_bar_too_slow(SrRound* const round)
{
  alone_too_fast(round);
  round->alone[0].silence.bars = 1;
  round->alone[0].offset_ms = (double)NAN;
  round->alone[0].change_ms = 120.0;
  round->alone[0].tempo_percent = -3.0;
}

static SrAirRelease*
add_air(SrRound* const round)
{
  free(round->air);
  round->air = (SrAirRelease*)calloc(1, sizeof(SrAirRelease));
  assert_non_null(round->air);
  round->air_count = 1;
  round->air[0] = (SrAirRelease){.over_mask_db = 6.0,
                                 .audible = true,
                                 .note_index = 12,
                                 .note_dip_db = (double)NAN,
                                 .note_bend_cents = (double)NAN,
                                 .late_ms = (double)NAN};
  return round->air;
}

static void
air(SrRound* const round)
{
  add_air(round);
}

static void
hidden_air(SrRound* const round)
{
  add_air(round)->audible = false;
}

static void
air_that_dips(SrRound* const round)
{
  add_air(round)->note_dip_db = 3.0;
}

static void
air_that_bends(SrRound* const round)
{
  add_air(round)->note_bend_cents = -9.0;
}

static void
air_that_delays(SrRound* const round)
{
  add_air(round)->late_ms = 60.0;
}

static void
air_that_silences(SrRound* const round)
{
  add_air(round)->failed = true;
}

static void
gulp(SrRound* const round)
{
  add_air(round)->between = true;
}

static const struct {
  Fault* fault;
  const char* advice;
} CASES[] = {
    {nothing, "no faults heard; play it again, then a little faster (83)"},
    {nothing_without_a_tempo, "no faults heard; play a longer stretch of it next"},
    {hidden_air, "no faults heard; play it again, then a little faster (83)"},
    {long_cut, "bar 1, cut long: the cut on the second E lasted 90 ms and sounds like a note; just "
               "flick the button"},
    {long_strike, "bar 2, strike long: the strike on the second G lasted 85 ms and sounds like a "
                  "note; just tap the button"},
    {two_long_cuts, "bar 1, cut long (one of 2): the cut on the second E lasted 90 ms and sounds "
                    "like a note; just flick the button"},
    {joined_with_a_cut, "bar 1, cut joined: you held on to the first E; lift the first E as the "
                        "cutting finger flicks"},
    {joined_without_a_cut, "bar 1, cut joined: the first E ran into the next one and no cut was "
                           "heard; lift the finger and flick the cut"},
    {absent_cut, "bar 1, cut absent: no cut was heard before the second E; the notes are already "
                 "separate, so just add the flick"},
    {absent_strike, "bar 2, strike absent: no strike was heard before the second G; the notes are "
                    "already separate, so just add the tap"},
    {strike_for_a_cut,
     "bar 1, cut absent: you played a strike instead before the second E; flick a higher button"},
    {cut_for_a_strike,
     "bar 2, strike absent: you played a cut instead before the second G; tap a lower button"},
    {joined_repeat, "bar 3, notes joined: the first F♯ ran into the next; lift between them, or "
                    "separate them with a cut"},
    {stray_cut, "bar 3, stray cut: none is written before the second F♯; keep that finger still, "
                "or write the cut into the tune"},
    {stray_cuts, "bar 3, stray cut (one of 5): none is written before the second F♯; if you mean "
                 "them, write them into the tune and they will be judged"},
    {wrong_higher, "bar 1, wrong note: the second F♯ came out 9 semitones higher; find its button "
                   "slowly, then carry on"},
    {wrong_lower, "bar 1, wrong note: the second F♯ came out 1 semitone lower; find its button "
                  "slowly, then carry on"},
    {missed_in_the_pickup,
     "pickup: you missed the F♯; play that bar on its own until it speaks every time"},
    {two_missed, "bar 1: you missed the second F♯ (one of 2); play that bar on its own until it "
                 "speaks every time"},
    {another_note, "bar 2: there was an extra note before the D; play that bar slowly and see "
                   "which finger catches it"},
    {note_twice, "bar 2: you played the C♯ twice; play that bar slowly and count its notes"},
    {self_corrected, "bar 2: you hit another note first, then the D, and kept the beat; well "
                     "saved, now find its button slowly"},
    {wait_for_a_correction,
     "bar 2: you hit another note first, then the D, and held up the beat for 0.5 s; let a slip go "
     "while you play, and find its button slowly afterwards"},
    {wait_after_a_note_twice, "bar 2: you played a note twice before the D and held up the beat "
                              "for 0.5 s; play the bar before and this one together at half speed"},
    {hesitation, "bar 2: you waited 1.0 s before the B; play the bar before and this one together "
                 "at half speed"},
    {hurried, "bar 2: the B came 0.4 s too soon; tap the pulse through the note before it"},
    {restart,
     "bar 2: you went back to the B; play from the bar before it to the bar after it a few times"},
    {false_start,
     "pickup: you stopped after the D and started again; hear a bar in your head before you start"},
    {stopped, "bar 3: you stopped after the G; pick the tune up again a bar before that"},
    {left_out, "bar 3: you jumped to the first F♯ and left out 6 notes before it; play slowly from "
               "a bar before the gap to a bar after it"},
    {late_beginning, "bar 2: you started at this bar; play what comes before it too"},
    {slower_stretch, "bar 2 to 3: this took you 25 % longer than the rest (0.8 s in all); play it "
                     "on its own until it is up to speed, then with the bar before"},
    {faster_stretch, "bar 2: this took you 20 % less time than the rest (0.3 s in all); tap the "
                     "pulse through it and through the bar before"},
    {uneven_note,
     "bar 2: the B was 80 ms late, the furthest off in this round; tap the pulse through that bar"},
    {early_note, "bar 2: the B was 80 ms early, the furthest off in this round; tap the pulse "
                 "through that bar"},
    {sped_up, "you sped up by 20 % from start to finish; practise it with a click"},
    {slowed_down, "you slowed down by 20 % from start to finish; practise it with a click"},
    {up_and_down, "your tempo went up and down by 20 %; practise it with a click"},
    {jumped, "bar 3: your tempo changed at the first F♯, from 80 to 100 pulses a minute; practise "
             "that join with a click"},
    {alone_too_fast, "after 4 bars on your own you were 110 ms early for the click, 1.9 % too "
                     "fast; play them again and keep the click going in your head"},
    {alone_one_bar_too_slow, "after 1 bar on your own you were 120 ms late for the click, 3.0 % "
                             "too slow; play them again and keep the click going in your head"},
    {air, "bar 2, the B: air heard, 6 dB louder than the note can hide; press the button less, for "
          "longer"},
    {air_that_dips, "bar 2, the B: air heard, 6 dB louder than the note can hide, and the note "
                    "dipped; press the button less, and sooner"},
    {air_that_bends, "bar 2, the B: air heard, 6 dB louder than the note can hide, and the note "
                     "bent; press the button less, for longer"},
    {air_that_delays, "bar 2, the B: air heard, 6 dB louder than the note can hide, and the next "
                      "note spoke late; let go of the air button before the next note"},
    {air_that_silences, "bar 2, the B: air heard, 6 dB louder than the note can hide, and the next "
                        "note did not speak; let go of the air button before the next note"},
    {gulp, "bar 2: air was heard after the B, with no note to hide it; take it under a note, where "
           "it can hide"},
};

/// A clean round.
static SrAssessment*
clean_round(void)
{
  static Played played;
  memset(&played, 0, sizeof(played));
  played_round(&played, phrase, 1.0, 2.0);
  SrStatus status = SR_OK;
  SrAssessment* const assessment = played_judge(&played, phrase, &status);
  assert_int_equal(status, SR_OK);
  assert_int_equal(assessment->round_count, 1);
  return assessment;
}

/// Advise on a round once more.
static void
advise(SrRound* const round, const SrJudgeSettings* const settings)
{
  for (size_t i = 0; i < round->advice_count; ++i) {
    free(round->advice[i]);
  }
  free(round->advice);
  free(round->advice_notes);
  round->advice_count = 0;
  const SrTake take = {.phrase = phrase, .settings = settings};
  assert_int_equal(sr_advise(&take, round), SR_OK);
}

static void
test_each_fault_has_its_sentence(void** const state)
{
  (void)state;
  const SrJudgeSettings settings = sr_judge_settings_default();
  size_t wrong = 0;
  for (size_t i = 0; i < sizeof(CASES) / sizeof(CASES[0]); ++i) {
    SrAssessment* const assessment = clean_round();
    SrRound* const round = &assessment->rounds[0];
    CASES[i].fault(round);
    advise(round, &settings);
    if (round->advice_count != 1 || strcmp(round->advice[0], CASES[i].advice) != 0) {
      print_error("case %zu, %zu lines: \"%s\", not \"%s\"\n", i, round->advice_count,
                  round->advice[0], CASES[i].advice);
      ++wrong;
    }
    sr_assessment_del(assessment);
  }
  assert_int_equal(wrong, 0);
}

static bool
begins(const char* const text, const char* const with)
{
  return strncmp(text, with, strlen(with)) == 0;
}

static void
keep_line(void* const context, const SrFaultLine* const line)
{
  snprintf((char*)context, 96, "bar %d %s: %s", line->bar, line->name, line->words);
}

/// Which time of a repeated bar it was is said unless the other time was as bad.
static void
test_the_time_of_a_repeated_bar_is_named(void** const state)
{
  (void)state;
  static const char repeated[] =
      "X:1\nT:The Lamp\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n|:E{A}EF DEF|G{F}GA Bcd:|]\n";
  SrPhrase* const before = phrase;
  assert_int_equal(sr_phrase_read_text(repeated, strlen(repeated), "made", NULL, &phrase, NULL),
                   SR_OK);
  assert_int_equal(sr_phrase_note_count(phrase), 24);
  const SrJudgeSettings settings = sr_judge_settings_default();
  SrAssessment* const assessment = clean_round();
  SrRound* const round = &assessment->rounds[0];
  assert_string_equal(sr_round_time_of(NULL, round, 13), "");
  give_cut(round, 13, SR_CUT_LONG, 90.0);
  assert_string_equal(sr_round_time_of(phrase, round, 13), "second time");
  advise(round, &settings);
  assert_string_equal(round->advice[0],
                      "bar 1, second time, cut long: the cut on the second E lasted 90 ms and "
                      "sounds like a note; just flick the button");
  char listed[96] = "";
  const SrNaming naming = sr_naming_of(phrase);
  const SrFaultList list = {&naming, round, keep_line, listed};
  assert_true(sr_faults(&list));
  assert_string_equal(listed,
                      "bar 1 2nd E: second time, cut long: 90 ms, so it sounds like a note");
  // Another note of the first time changes nothing
  round->notes[0].status = SR_NOTE_WRONG;
  round->notes[0].heard_midi = 60;
  assert_string_equal(sr_round_time_of(phrase, round, 13), "second time");
  assert_string_equal(sr_round_time_of(phrase, round, 0), "first time");
  round->notes[0].status = SR_NOTE_PLAYED;
  give_cut(round, 1, SR_CUT_JOINED, 30.0);
  assert_string_equal(sr_round_time_of(phrase, round, 13), "");
  advise(round, &settings);
  assert_memory_equal(round->advice[0], "bar 1, cut ", 11);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
  phrase = before;
}

/// Of many faults the worst comes first, and at most five are named.
static void
test_the_worst_comes_first(void** const state)
{
  (void)state;
  const SrJudgeSettings settings = sr_judge_settings_default();
  SrAssessment* const assessment = clean_round();
  SrRound* const round = &assessment->rounds[0];
  stray_cut(round);
  long_cut(round);
  wrong_higher(round);
  restart(round);
  absent_strike(round);
  missed_in_the_pickup(round);
  advise(round, &settings);
  assert_int_equal(round->advice_count, 5);
  assert_true(
      begins(round->advice[0], "bar 1, wrong note: the second F♯ came out 9 semitones higher"));
  assert_true(begins(round->advice[1], "pickup: you missed the F♯"));
  assert_true(begins(round->advice[2], "bar 2: you went back to the B"));
  assert_true(begins(round->advice[3], "bar 1, cut long: the cut on the second E lasted 90 ms"));
  assert_true(begins(round->advice[4], "bar 2, strike absent: no strike was heard"));
  sr_assessment_del(assessment);
}

/// A break, or another tempo, is named before a note that is somewhat uneven.
static void
test_the_beat_comes_before_one_note(void** const state)
{
  (void)state;
  static const struct {
    Fault* fault;
    const char* begin;
  } faults[] = {{hesitation, "bar 2: you waited"},
                {sped_up, "you sped up"},
                {slowed_down, "you slowed down"},
                {jumped, "bar 3: your tempo changed at the first"},
                {up_and_down, "your tempo went up"}};
  const SrJudgeSettings settings = sr_judge_settings_default();
  for (size_t i = 0; i < sizeof(faults) / sizeof(faults[0]); ++i) {
    SrAssessment* const assessment = clean_round();
    SrRound* const round = &assessment->rounds[0];
    early_note(round);
    faults[i].fault(round);
    advise(round, &settings);
    assert_int_equal(round->advice_count, 2);
    assert_true(begins(round->advice[0], faults[i].begin));
    sr_assessment_del(assessment);
  }
}

/// Where the buttons of a plan are known, they are named with the note.
static void
test_a_note_is_named_with_its_button(void** const state)
{
  (void)state;
  SrAssessment* const assessment = clean_round();
  SrRound* const round = &assessment->rounds[0];
  const char* places[64] = {NULL};
  places[8] = "R1-2, draw";
  SrJudgeSettings settings = sr_judge_settings_default();
  settings.places = places;
  miss(round, 8);
  advise(round, &settings);
  assert_int_equal(round->advice_count, 1);
  assert_string_equal(round->advice[0], "bar 1: you missed the second F♯ (R1-2, draw); play that "
                                        "bar on its own until it speaks every time");
  sr_assessment_del(assessment);
}

static int
open_phrase(void** const state)
{
  (void)state;
  phrase = played_phrase(TUNE);
  return 0;
}

static int
close_phrase(void** const state)
{
  (void)state;
  sr_phrase_del(phrase);
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_each_fault_has_its_sentence),
      cmocka_unit_test(test_the_time_of_a_repeated_bar_is_named),
      cmocka_unit_test(test_the_worst_comes_first),
      cmocka_unit_test(test_the_beat_comes_before_one_note),
      cmocka_unit_test(test_a_note_is_named_with_its_button),
  };
  return cmocka_run_group_tests(tests, open_phrase, close_phrase);
}
