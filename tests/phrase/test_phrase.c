// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_phrase.c
   What a phrase tells of cuts, marks, bars, parts and titles: our own rules, as
   phrase.h states them.
*/

#include "phrase_text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define HEAD "X:1\nM:6/8\nL:1/8\nK:D\n"

static void
assert_cuts(const char* const body, const int* const expected, const size_t count)
{
  char abc[256];
  snprintf(abc, sizeof(abc), HEAD "%s\n", body);
  SrPhrase* const phrase = sr_test_phrase(abc, NULL);
  assert_int_equal(sr_phrase_note_count(phrase), count);
  for (size_t i = 0; i < count; ++i) {
    assert_int_equal(sr_phrase_note(phrase, i)->cut_midi, expected[i]);
  }
  sr_phrase_del(phrase);
}

static void
cuts_belong_to_notes(void** const state)
{
  (void)state;
  // c is C sharp in D
  assert_cuts("A{c}A{/c}A", (const int[]){-1, 73, 73}, 3);
  assert_cuts("A {c} A", (const int[]){-1, 73}, 2);
  assert_cuts("A{c}|A", (const int[]){-1, 73}, 2);
  assert_cuts("A{c}\"^air\".~!accent!A", (const int[]){-1, 73}, 2);
  assert_cuts("\"D\"{c}A", (const int[]){73}, 1);
  assert_cuts("=c{c}A|{c}A", (const int[]){-1, 72, 73}, 3);
  assert_cuts("{=c}A{c}A|{c}A", (const int[]){72, 72, 73}, 3);
  assert_cuts("{^d'}A", (const int[]){87}, 1);
  assert_cuts("A{e}[DFA]A", (const int[]){-1, 76, -1}, 3);
  assert_cuts("A{c}zA", (const int[]){-1, -1}, 2);
  assert_cuts("A2-{c}A", (const int[]){-1, 73}, 2);
  assert_cuts("{c}A2-A", (const int[]){73}, 1);
  assert_cuts("{gfg}A", (const int[]){-1}, 1);
  assert_cuts("A{}A", (const int[]){-1, -1}, 2);

  SrPhrase* const phrase = sr_test_phrase(HEAD "{gfg}A {=c}[DF^G]\n", NULL);
  const SrPhraseNote* const note = sr_phrase_note(phrase, 0);
  assert_int_equal(note->ornament_count, 3);
  assert_int_equal(note->ornament_midi[0], 79);
  assert_int_equal(note->ornament_midi[1], 78);
  assert_int_equal(note->ornament_midi[2], 79);
  const SrPhraseNote* const chord = sr_phrase_note(phrase, 1);
  assert_string_equal(chord->name, "G♯");
  assert_int_equal(chord->chord_count, 2);
  assert_int_equal(chord->chord_midi[0], 62);
  assert_int_equal(chord->chord_midi[1], 66);
  assert_int_equal(chord->ornament_count, 0);
  sr_phrase_del(phrase);
}

static void
marks(void** const state)
{
  (void)state;
  SrPhrase* const phrase = sr_test_phrase("X:1\nL:1/8\nU: p = \"_press\"\nU: q = \"^air\"\nK:D\n"
                                          "\"^air\"A \"_press\"B \"_draw\"\"^air\"c d|"
                                          "pA qB \"^airy\"c \"air\"\"^press\"d \"^air\"z e|\n",
                                          NULL);
  static const bool air[9] = {true, false, true, false, false, true, false, false, false};
  static const SrDirection directions[9] = {
      SR_DIRECTION_FREE, SR_DIRECTION_PRESS, SR_DIRECTION_DRAW,
      SR_DIRECTION_FREE, SR_DIRECTION_PRESS, SR_DIRECTION_FREE,
      SR_DIRECTION_FREE, SR_DIRECTION_FREE,  SR_DIRECTION_FREE};
  assert_int_equal(sr_phrase_note_count(phrase), 9);
  for (size_t i = 0; i < 9; ++i) {
    assert_int_equal(sr_phrase_note(phrase, i)->air, air[i]);
    assert_int_equal(sr_phrase_note(phrase, i)->direction, directions[i]);
  }
  sr_phrase_del(phrase);
}

static void
names_and_places(void** const state)
{
  (void)state;
  SrPhrase* const phrase =
      sr_test_phrase("X:1\nL:1/8\nK:Bb\n\"\xC3\xA9\"B=B ^^F__e|\n| ^c\n", NULL);
  static const char* const names[5] = {"B♭", "B", "F♯♯", "E♭♭", "C♯"};
  static const unsigned columns[5] = {4, 5, 8, 11, 3};
  for (size_t i = 0; i < 5; ++i) {
    assert_string_equal(sr_phrase_note(phrase, i)->name, names[i]);
    assert_int_equal(sr_phrase_note(phrase, i)->column, columns[i]);
    assert_int_equal(sr_phrase_note(phrase, i)->line, i < 4 ? 4 : 5);
  }
  sr_phrase_del(phrase);
}

/// `number@start+length` of each bar, in eighths.
static void
assert_bars(const SrPhrase* const phrase, const char* const expected)
{
  char text[1024] = "";
  for (size_t i = 0; i < sr_phrase_bar_count(phrase); ++i) {
    const SrPhraseBar* const bar = sr_phrase_bar(phrase, i);
    const size_t fill = strlen(text);
    snprintf(text + fill, sizeof(text) - fill, "%s%d@%g+%g", i ? " " : "", bar->number,
             8.0 * sr_fraction_value(bar->start), 8.0 * sr_fraction_value(bar->length));
  }
  assert_string_equal(text, expected);
}

static void
assert_bars_of(const char* const abc, const SrPhraseChoice* const choice,
               const char* const expected)
{
  SrPhrase* const phrase = sr_test_phrase(abc, choice);
  assert_bars(phrase, expected);
  sr_phrase_del(phrase);
}

static void
assert_in_bar(const SrPhrase* const phrase, const size_t index, const int64_t eighths)
{
  const SrFraction in_bar = sr_phrase_note(phrase, index)->in_bar;
  assert_int_equal(in_bar.numerator * 8, eighths * in_bar.denominator);
}

static void
bars_are_numbered_as_written(void** const state)
{
  (void)state;
  assert_bars_of(HEAD "|:DFA dAF|GBd cAG:|\n", NULL, "1@0+6 2@6+6 1@12+6 2@18+6");
  assert_bars_of(
      HEAD "|:D|GAB c2d|G3 G2:|:d|gfe dcB|A3 G2:|\n", NULL,
      "0@0+1 1@1+6 2@7+5 0@12+1 1@13+6 2@19+5 0@24+1 3@25+6 4@31+5 0@36+1 3@37+6 4@43+5");
  assert_bars_of(HEAD "D|:GAB c2d|1G3 G2D:|2G3 G2||d|gfe dcB|]\n", NULL,
                 "0@0+1 1@1+6 2@7+6 1@13+6 3@19+5 0@24+1 4@25+6");
  // Neither a short ending nor a lone short bar is a pickup
  assert_bars_of(HEAD "|:DFA dAF|1G3:|2A3|]\n", NULL, "1@0+6 2@6+3 1@9+6 3@15+3");
  assert_bars_of(HEAD "DFA|]\n", NULL, "1@0+3");
  assert_bars_of(HEAD "Z2|DFA dAF|\n", NULL, "1@0+6 2@6+6 3@12+6");

  // A pickup stands at the end of its bar
  SrPhrase* const phrase = sr_test_phrase(HEAD "|:AF|DFA dAF|G3 A:|\n", NULL);
  assert_in_bar(phrase, 0, 4);
  assert_in_bar(phrase, 1, 5);
  assert_in_bar(phrase, 2, 0);
  assert_in_bar(phrase, 9, 3);
  assert_in_bar(phrase, 10, 4);
  assert_int_equal(sr_phrase_note(phrase, 10)->bar, 0);
  sr_phrase_del(phrase);
}

static void
bars_are_chosen(void** const state)
{
  (void)state;
  static const char abc[] = HEAD "|:D|GAB c2d|1G3 G2:|2A3 G2||d|gfe dcB|efg fed|A3 G2|]\n";
  assert_bars_of(abc, &(SrPhraseChoice){.first_bar = 1, .last_bar = 2}, "1@0+6 2@6+5");
  assert_bars_of(abc, &(SrPhraseChoice){.first_bar = 0, .last_bar = 1}, "0@0+1 1@1+6");
  assert_bars_of(abc, &(SrPhraseChoice){.first_bar = 1, .last_bar = 3}, "1@0+6 2@6+5 3@11+5");
  assert_bars_of(abc, &(SrPhraseChoice){.first_bar = 3, .last_bar = 4}, "3@0+5 0@5+1 4@6+6");
  assert_bars_of(abc, &(SrPhraseChoice){.first_bar = 4, .last_bar = 6}, "4@0+6 5@6+6 6@12+5");
  static const SrPhraseChoice wrong[] = {{.first_bar = 3, .last_bar = 7},
                                         {.first_bar = 7, .last_bar = 7},
                                         {.first_bar = 3, .last_bar = 2},
                                         {.first_bar = -1, .last_bar = 2},
                                         {.part = 'D'},
                                         {.tune = 2}};
  for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); ++i) {
    SrPhrase* phrase = NULL;
    SrError error = {0};
    assert_int_equal(sr_phrase_read_text(abc, sizeof(abc) - 1, "t", &wrong[i], &phrase, &error),
                     SR_NOT_FOUND);
    assert_null(phrase);
    assert_true(error.message[0] != '\0');
  }
}

static void
parts_are_chosen(void** const state)
{
  (void)state;
  // By label, with the part's own repeats, whatever the order of the head
  static const char labelled[] = "X:1\nP:ABA\nM:6/8\nK:D\nP:A\n|:DFA dAF:|\nP:B\nGBd cAG|]\n";
  assert_bars_of(labelled, &(SrPhraseChoice){.part = 'A'}, "1@0+6 1@6+6");
  assert_bars_of(labelled, &(SrPhraseChoice){.part = 'B'}, "2@0+6");
  assert_bars_of(labelled, NULL, "1@0+6 1@6+6 2@12+6 1@18+6 1@24+6");
  // By double bars and repeat signs; endings and a pickup before |: belong to their part
  static const char plain[] = HEAD "D|:DFA dAF|1G6:|2A6||BGE cAF|]|:d6:|\n";
  assert_bars_of(plain, &(SrPhraseChoice){.part = 'A'}, "0@0+1 1@1+6 2@7+6 1@13+6 3@19+6");
  assert_bars_of(plain, &(SrPhraseChoice){.part = 'B'}, "4@0+6");
  assert_bars_of(plain, &(SrPhraseChoice){.part = 'C'}, "5@0+6 5@6+6");
  assert_bars_of(plain, &(SrPhraseChoice){.part = 'C', .first_bar = 5, .last_bar = 5}, "5@0+6");
}

static void
pulses(void** const state)
{
  (void)state;
  static const struct {
    const char* meter;
    int numerator;
    int denominator;
  } cases[] = {{"6/8", 3, 8}, {"9/8", 3, 8}, {"12/8", 3, 8}, {"2/4", 1, 4},
               {"3/4", 1, 4}, {"4/4", 1, 4}, {"C", 1, 4},    {"2/2", 1, 2},
               {"C|", 1, 2},  {"3/2", 1, 2}, {"7/8", 1, 8}};
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char abc[64];
    snprintf(abc, sizeof(abc), "X:1\nM:%s\nQ:1/4=90\nK:C\nC|\n", cases[i].meter);
    SrPhrase* const phrase = sr_test_phrase(abc, NULL);
    const SrFraction pulse = sr_phrase_bar(phrase, 0)->pulse;
    assert_int_equal(pulse.numerator, cases[i].numerator);
    assert_int_equal(pulse.denominator, cases[i].denominator);
    const double wholes = sr_phrase_tempo(phrase) * sr_fraction_value(pulse);
    assert_float_equal(wholes, 22.5, 1e-6);
    sr_phrase_del(phrase);
  }
}

static void
titles_and_lines(void** const state)
{
  (void)state;
  static const struct {
    const char* abc;
    const char* title;
  } cases[] = {
      {"X:1\nT:  The Lamp \nT:Another\nK:D\nD|\n", "The Lamp"},
      {"X:1\nK:D\nD|\n", ""},
      {"X:1\nT:\nK:D\nD|\n", ""},
      {"\xEF\xBB\xBFX:1\r\nT:Ciar\xC3\xA1n\r\nK:D\r\nD|\r\n", "Ciar\xC3\xA1n"},
      {"X:1\rT:Ciar\xE1n\rK:D\rD|\r", "Ciar\xC3\xA1n"},
      {"X:1\nT:A\tB\x01"
       "C\nK:D\nD|\n",
       "A B C"},
      {"X:1\nT:\xED\xA0\x80\nK:D\nD|\n", "\xC3\xAD\xC2\xA0\xC2\x80"},
      {"X:1\nT:One|two: three\nN::|\nC:|:\nK:D\nD|\n", "One|two: three"},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    SrPhrase* const phrase = sr_test_phrase(cases[i].abc, NULL);
    assert_string_equal(sr_phrase_title(phrase), cases[i].title);
    assert_string_equal(sr_phrase_key(phrase), "D");
    assert_int_equal(sr_phrase_note_count(phrase), 1);
    sr_phrase_del(phrase);
  }
  // A long title is cut on a whole character
  char abc[2048] = "X:1\nT:a";
  for (int i = 0; i < 400; ++i) {
    strcat(abc, "\xC3\xA9");
  }
  strcat(abc, "\nK:D\nD|\n");
  SrPhrase* const phrase = sr_test_phrase(abc, NULL);
  const char* const title = sr_phrase_title(phrase);
  assert_int_equal(strlen(title) % 2, 1);
  assert_true(strlen(title) > 200);
  assert_memory_equal(title + strlen(title) - 2, "\xC3\xA9", 2);
  sr_phrase_del(phrase);
}

static void
tunes_are_chosen(void** const state)
{
  (void)state;
  static const char abc[] = "X:\nK:C\nC|\n\nX:7\nK:D\nD|\nX:8\nK:E\nE|\n\nX: 12\nK:F\nF|\n";
  static const int numbers[] = {0, 7, 8, 12};
  static const int midi[] = {60, 62, 64, 65};
  for (size_t i = 0; i < 4; ++i) {
    SrPhrase* const phrase = sr_test_phrase(abc, &(SrPhraseChoice){.tune = numbers[i]});
    assert_int_equal(sr_phrase_tune(phrase), numbers[i]);
    assert_int_equal(sr_phrase_note(phrase, 0)->midi, midi[i]);
    sr_phrase_del(phrase);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cuts_belong_to_notes),
      cmocka_unit_test(marks),
      cmocka_unit_test(names_and_places),
      cmocka_unit_test(bars_are_numbered_as_written),
      cmocka_unit_test(bars_are_chosen),
      cmocka_unit_test(parts_are_chosen),
      cmocka_unit_test(pulses),
      cmocka_unit_test(titles_and_lines),
      cmocka_unit_test(tunes_are_chosen),
  };
  return cmocka_run_group_tests_name("phrase", tests, NULL, NULL);
}
