// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_spoken.c
   Verdicts for a voice: what is said of a line of advice, and that nothing a voice would stumble
   over is in them, whatever went wrong.
*/

#include "played.h"

#include <steadyreed/show.h>

#include <ctype.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/// Sharps, flats, naturals, a pickup, cuts and bars of two digits.
#define TUNE                                                                                       \
  "X:1\nT:Signs\nM:6/8\nL:1/8\nQ:3/8=80\nK:D\n"                                                    \
  "AFD|E{A}EF D^EF|G{A}GA _Bcd|=FFD EFG|BBA FED|AAA {B}ABA|F_BF ^GAG|"                             \
  "AFD EFG|EEF DEF|GGA Bcd|FFD EFG|BBA FED|]\n"

static void
test_lines_as_they_are_said(void** const state)
{
  (void)state;
  static const struct {
    const char* advice;
    const char* spoken;
  } cases[] = {
      {"bar 2, cut joined: you held on to the second A; lift the second A as the cutting finger "
       "flicks",
       "Bar 2, cut joined, you held on to the second A. Lift the second A as the cutting finger "
       "flicks."},
      {"bar 1, strike absent (one of 3): you played a cut instead before the G♯ (L1-3, draw); tap "
       "a "
       "lower button",
       "Bar 1, strike absent, you played a cut instead before the G sharp. Tap a lower button."},
      {"pickup: you missed the B♭; play that bar on its own until it speaks every time",
       "Pickup, you missed the B flat. Play that bar on its own until it speaks every time."},
      {"bar 12: the F♯♯ was 80 ms late, the furthest off in this round; tap the pulse through that "
       "bar",
       "Bar 12, the F double sharp was 80 milliseconds late, the furthest off in this round."},
      {"bar 2: you waited 1.0 s before the B; play the bar before and this one together at half "
       "speed",
       "Bar 2, you waited 1 second before the B. Play the bar before and this one together at half "
       "speed."},
      {"bar 2: the E♮ came 0.4 s too soon; tap the pulse through the note before it",
       "Bar 2, the E natural came 0.4 seconds too soon. Tap the pulse through the note before it."},
      {"you sped up by 20 % from start to finish; practise it with a click",
       "You sped up by 20 percent from start to finish. Practise it with a click."},
      {"bar 2, the B: air heard, 6 dB louder than the note can hide; press the button less, for "
       "longer",
       "Bar 2, the B, air heard, 6 decibels louder than the note can hide."},
      // What does not fit is left out: first the remedy, then the end
      {"you did not stay with the click: you got 1.5 beats ahead of it, 2.3 % faster; listen to it "
       "for a bar, tap it with your foot, and only then play",
       "You did not stay with the click, you got 1.5 beats ahead of it, 2.3 percent faster."},
      {"bar 2: one two three four five six seven eight nine ten eleven twelve thirteen, fourteen "
       "fifteen sixteen seventeen; play that bar slowly and count its notes",
       "Bar 2, one two three four five six seven eight nine ten eleven twelve thirteen."},
      {"a \"b\" <c> & d – e", "A b c d e."},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char* line = strdup(cases[i].advice);
    const SrRound round = {.advice = &line, .advice_count = 1};
    char spoken[SR_SPOKEN_SIZE];
    assert_ptr_equal(sr_show_spoken(&round, spoken), spoken);
    assert_string_equal(spoken, cases[i].spoken);
    free(line);
  }
}

/// A word without a comma or a space in it does not fill more than there is.
static void
test_a_line_without_words(void** const state)
{
  (void)state;
  char line[300];
  memset(line, 'x', sizeof(line));
  line[sizeof(line) - 1] = '\0';
  char* advice = line;
  const SrRound round = {.advice = &advice, .advice_count = 1};
  char spoken[SR_SPOKEN_SIZE];
  sr_show_spoken(&round, spoken);
  assert_int_equal(strlen(spoken), SR_SPOKEN_SIZE - 1);
  assert_int_equal(spoken[SR_SPOKEN_SIZE - 2], '.');
}

static void
test_a_clean_round(void** const state)
{
  (void)state;
  char* line = strdup("no faults heard; play it again, then a little faster (83)");
  SrNoteVerdict note = {.status = SR_NOTE_PLAYED};
  const SrRound round = {
      .advice = &line, .advice_count = 1, .clean = true, .notes = &note, .note_count = 1};
  char spoken[SR_SPOKEN_SIZE];
  assert_string_equal(sr_show_spoken(&round, spoken), "Clean.");
  // What the microphone lost was not clean
  note.status = SR_NOTE_UNHEARD;
  assert_string_equal(sr_show_spoken(&round, spoken), "No faults heard.");
  free(line);
}

/// A voice can read it: whole sentences of plain words.
static void
assert_is_plain(const char* const spoken)
{
  const size_t size = strlen(spoken);
  size_t stops = 0;
  bool plain = size >= 6 && size < SR_SPOKEN_SIZE && isupper((unsigned char)spoken[0]) &&
               spoken[size - 1] == '.';
  for (size_t i = 0; i < size; ++i) {
    plain = plain && (isalnum((unsigned char)spoken[i]) || strchr(" ,.'", spoken[i]));
    plain = plain && !(spoken[i] == ' ' && strchr(" ,.", spoken[i + 1]));
    stops += spoken[i] == '.' && (spoken[i + 1] == ' ' || spoken[i + 1] == '\0');
  }
  static const char* const short_words[] = {" ms ", " s ", " dB ", " ms.", " s."};
  for (size_t i = 0; i < sizeof(short_words) / sizeof(short_words[0]); ++i) {
    plain = plain && !strstr(spoken, short_words[i]);
  }
  if (!plain || stops < 1 || stops > 2) {
    fail_msg("not for a voice: \"%s\"", spoken);
  }
}

static void
test_whatever_went_wrong(void** const state)
{
  (void)state;
  SrPhrase* const phrase = played_phrase(TUNE);
  size_t faults = 0;
  size_t clean = 0;
  size_t sharps = 0;
  size_t flats = 0;
  size_t remedies = 0;
  for (int kind = 0; kind < PLAYED_FAULTS; ++kind) {
    for (size_t at = 2; at < sr_phrase_note_count(phrase); ++at) {
      SrAssessment* const assessment = played_with_fault(phrase, (PlayedFault)kind, at);
      for (size_t r = 0; assessment && r < assessment->round_count; ++r) {
        const SrRound* const round = &assessment->rounds[r];
        char spoken[SR_SPOKEN_SIZE];
        assert_is_plain(sr_show_spoken(round, spoken));
        const bool says_clean = !strcmp(spoken, "Clean.");
        assert_int_equal(says_clean, round->clean);
        assert_int_equal(says_clean, !strncmp(round->advice[0], "no faults heard", 15));
        clean += says_clean;
        faults += !says_clean;
        sharps += strstr(spoken, " sharp") != NULL;
        flats += strstr(spoken, " flat") != NULL;
        remedies += strstr(spoken, ". ") != NULL;
      }
      sr_assessment_del(assessment);
    }
  }
  print_message("%zu faulty rounds, %zu clean ones, %zu sharps, %zu flats, %zu remedies\n", faults,
                clean, sharps, flats, remedies);
  assert_true(faults > 400 && sharps > 20 && flats > 5 && remedies > 100);
  sr_phrase_del(phrase);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_lines_as_they_are_said),
      cmocka_unit_test(test_a_line_without_words),
      cmocka_unit_test(test_a_clean_round),
      cmocka_unit_test(test_whatever_went_wrong),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
