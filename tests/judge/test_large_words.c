// SPDX-License-Identifier: GPL-3.0-or-later

// The verdict in few large words: the remedy first, then the place and the fault; and the note that
// it is about.

#include "played.h"

#include <steadyreed/large_words.h>

#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define TUNE                                                                                       \
  "X:1\nT:The Wet Gate\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"                                             \
  "AFD E{A}EF|G{A}GA Bcd|FFD EFG|BBA FED|]\n"

static void
test_lines_in_large_letters(void** const state)
{
  (void)state;
  static const struct {
    const char* advice;
    const char* head;
    const char* body;
  } cases[] = {
      {"bar 2, cut joined (one of 3): you held on to the second A (L2-5, draw); lift the "
       "second A as the cutting finger flicks",
       "Lift the second A as the cutting finger flicks", "Bar 2: you held on to the second A"},
      {"bar 2, second time, cut long: the cut on the B lasted 90 ms; just flick the button",
       "Just flick the button", "Bar 2, second time: the cut on the B lasted 90 ms"},
      {"bar 2, second time: you missed the B; play that bar on its own", "Play that bar on its own",
       "Bar 2, second time: you missed the B"},
      {"bar 2, first time, the B: air heard; press the button less", "Press the button less",
       "Bar 2, first time, the B: air heard"},
      {"pickup: you missed the B♭; play that bar on its own until it speaks every time",
       "Play that bar on its own until it speaks every time", "Pickup: you missed the B♭"},
      {"bar 2 to 4: this took you 20 % longer than the rest (1.2 s in all); play it on its own",
       "Play it on its own", "Bar 2 to 4: this took you 20 % longer than the rest"},
      {"bar 2, the B: air heard, 6 dB louder than the note can hide; press the button less, for "
       "longer",
       "Press the button less, for longer",
       "Bar 2, the B: air heard, 6 dB louder than the note can hide"},
      {"you sped up by 20 % from start to finish; practise it with a click",
       "Practise it with a click", "You sped up by 20 % from start to finish"},
      {"bar 7: no remedy is known", "No remedy is known", "Bar 7"},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char* line = strdup(cases[i].advice);
    size_t note = 3;
    const SrRound round = {
        .advice = &line, .advice_notes = &note, .advice_count = 1, .note_count = 5};
    SrLargeVerdict verdict;
    sr_large_verdict(&round, 0, &verdict);
    assert_string_equal(verdict.head, cases[i].head);
    assert_string_equal(verdict.body, cases[i].body);
    assert_int_equal(verdict.note, 3);
    sr_large_verdict(&round, 1, &verdict);
    assert_string_equal(verdict.head, "");
    assert_int_equal(verdict.note, 5);
    free(line);
  }
}

static void
test_a_clean_round(void** const state)
{
  (void)state;
  char* line = strdup("no faults heard; play it again, then a little faster (83)");
  SrNoteVerdict note = {.status = SR_NOTE_PLAYED};
  const SrRound round = {
      .advice = &line, .advice_count = 1, .clean = true, .notes = &note, .note_count = 1};
  SrLargeVerdict verdict;
  sr_large_verdict(&round, 0, &verdict);
  assert_string_equal(verdict.head, "Clean");
  assert_string_equal(verdict.body, "Play it again, then a little faster");
  note.status = SR_NOTE_UNHEARD;
  sr_large_verdict(&round, 0, &verdict);
  assert_string_equal(verdict.head, "No faults heard");
  free(line);
}

/// The bar that a verdict names, 0 for the pickup or none.
static int
bar_in(const char* const body)
{
  int bar = 0;
  return sscanf(body, "Bar %d", &bar) == 1 ? bar : 0;
}

static void
test_the_note_it_is_about(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(TUNE);
  size_t named = 0;
  size_t heard = 0;
  for (int kind = 0; kind < PLAYED_FAULTS; ++kind) {
    for (size_t at = 2; at < sr_phrase_note_count(phrase); ++at) {
      SrAssessment* const assessment = played_with_fault(phrase, (PlayedFault)kind, at);
      for (size_t r = 0; assessment && r < assessment->round_count; ++r) {
        const SrRound* const round = &assessment->rounds[r];
        for (size_t i = 0; i < round->advice_count; ++i) {
          SrLargeVerdict verdict;
          sr_large_verdict(round, i, &verdict);
          assert_true(strlen(verdict.head) > 4 && isupper((unsigned char)verdict.head[0]));
          const int bar = bar_in(verdict.body);
          if (bar > 0) {
            assert_true(verdict.note < round->note_count);
            assert_int_equal(round->notes[verdict.note].bar, bar);
            ++named;
          } else {
            assert_int_equal(verdict.note, round->note_count);
          }
        }
        char words[SR_LARGE_SIZE];
        for (size_t n = 0; n < round->note_count; ++n) {
          heard += sr_large_fault(phrase, &round->notes[n], words);
        }
      }
      sr_assessment_del(assessment);
    }
  }
  print_message("%zu verdicts name a bar; %zu faults of notes\n", named, heard);
  assert_true(named > 100 && heard > 60);
  sr_phrase_del(phrase);
}

static void
test_faults_as_they_are_heard(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(TUNE);
  char words[SR_LARGE_SIZE];
  SrNoteVerdict note = {.index = 4, .midi = 64, .heard_midi = 66, .status = SR_NOTE_WRONG};
  assert_true(sr_large_fault(phrase, &note, words));
  assert_string_equal(words, "F♯, not E");
  note.heard_midi = 76;
  assert_true(sr_large_fault(phrase, &note, words));
  assert_string_equal(words, "E5, not E");
  note.status = SR_NOTE_MISSED;
  assert_true(sr_large_fault(phrase, &note, words));
  assert_string_equal(words, "E missed");
  note.status = SR_NOTE_PLAYED;
  note.joined = SR_YES;
  assert_true(sr_large_fault(phrase, &note, words));
  assert_string_equal(words, "E ran into E");
  note.joined = SR_NO;
  note.has_cut = true;
  note.cut = (SrCut){.verdict = SR_CUT_LONG, .length_ms = 91.4};
  assert_true(sr_large_fault(phrase, &note, words));
  assert_string_equal(words, "Cut too long: 91 ms");
  note.cut.verdict = SR_CUT_ABSENT;
  assert_true(sr_large_fault(phrase, &note, words));
  assert_string_equal(words, "No cut on E");
  note.cut.verdict = SR_CUT_CLEAN;
  assert_false(sr_large_fault(phrase, &note, words));
  assert_string_equal(words, "");
  sr_phrase_del(phrase);
}

static void
test_figures(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(TUNE);
  SrAssessment* const assessment = played_with_fault(phrase, PLAYED_MISSED, 7);
  assert_non_null(assessment);
  SrLargeFigure figures[SR_LARGE_FIGURES];
  const size_t count = sr_large_figures(&assessment->rounds[0], SR_AIR_CARRIED, figures);
  assert_int_equal(count, 3);
  assert_string_equal(figures[0].name, "Notes");
  assert_string_equal(figures[0].words, "23 of 24 right");
  assert_false(figures[0].good);
  assert_string_equal(figures[1].name, "Cuts");
  assert_string_equal(figures[2].name, "Beat");
  assert_true(figures[2].good);
  sr_assessment_del(assessment);
  sr_phrase_del(phrase);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_lines_in_large_letters),
      cmocka_unit_test(test_a_clean_round),
      cmocka_unit_test(test_the_note_it_is_about),
      cmocka_unit_test(test_faults_as_they_are_heard),
      cmocka_unit_test(test_figures),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
