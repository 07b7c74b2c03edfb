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
  assert_cuts("A{c}\"^air\".!accent!A", (const int[]){-1, 73}, 2);
  assert_cuts("A{G}A", (const int[]){-1, 67}, 2);
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
assert_ornament(const char* const body, const SrOrnament expected, const int* const graces,
                const int count)
{
  char abc[256];
  snprintf(abc, sizeof(abc), HEAD "%s\n", body);
  SrPhrase* const phrase = sr_test_phrase(abc, NULL);
  const SrPhraseNote* const note = sr_phrase_note(phrase, sr_phrase_note_count(phrase) - 1);
  assert_int_equal(note->ornament, expected);
  assert_int_equal(note->cut_midi >= 0, sr_ornament_is_judged(expected));
  assert_int_equal(note->ornament_count, count);
  for (int i = 0; i < count; ++i) {
    assert_int_equal(note->ornament_midi[i], graces[i]);
  }
  sr_phrase_del(phrase);
}

static void
ornaments(void** const state)
{
  (void)state;
  assert_ornament("A", SR_ORNAMENT_NONE, NULL, 0);
  assert_ornament("A{c}A", SR_ORNAMENT_CUT, NULL, 0);
  assert_ornament("g{g}f", SR_ORNAMENT_CUT, NULL, 0);
  assert_ornament("A{G}A", SR_ORNAMENT_STRIKE, NULL, 0);
  assert_ornament("{A}A", SR_ORNAMENT_GROUP, (const int[]){69}, 1);
  assert_ornament("{cB}A", SR_ORNAMENT_GROUP, (const int[]){73, 71}, 2);
  assert_ornament("{cAG}A", SR_ORNAMENT_GROUP, (const int[]){73, 69, 67}, 3);
  assert_ornament("{cAB}A", SR_ORNAMENT_CRAN, (const int[]){73, 69, 71}, 3);
  assert_ornament("{AcAB}A", SR_ORNAMENT_CRAN, (const int[]){69, 73, 69, 71}, 4);
  // The third above in the key, and the step below it: C sharp and G in D
  assert_ornament("~A3", SR_ORNAMENT_ROLL, (const int[]){73, 67}, 2);
  assert_ornament("!roll!A3", SR_ORNAMENT_ROLL, (const int[]){73, 67}, 2);
  assert_ornament("!accent!~\"^air\".A3", SR_ORNAMENT_ROLL, (const int[]){73, 67}, 2);
  assert_ornament("=c^G~A3", SR_ORNAMENT_ROLL, (const int[]){72, 68}, 2);
  assert_ornament("{d}~A3", SR_ORNAMENT_ROLL, (const int[]){74, 73, 67}, 3);
  assert_ornament("~[DFA]3", SR_ORNAMENT_ROLL, (const int[]){73, 67}, 2);
  assert_ornament("[DF~A]3", SR_ORNAMENT_ROLL, (const int[]){73, 67}, 2);
  assert_ornament("~zA3", SR_ORNAMENT_NONE, NULL, 0);
  assert_ornament("!trill!A3", SR_ORNAMENT_NONE, NULL, 0);

  SrPhrase* const phrase =
      sr_test_phrase("X:1\nL:1/8\nU: R = !roll!\nU: ~ = \"_press\"\nK:D\nRA3 ~A3 A3-~A3|\n", NULL);
  assert_int_equal(sr_phrase_note(phrase, 0)->ornament, SR_ORNAMENT_ROLL);
  assert_int_equal(sr_phrase_note(phrase, 1)->ornament, SR_ORNAMENT_NONE);
  assert_int_equal(sr_phrase_note(phrase, 1)->direction, SR_DIRECTION_PRESS);
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

/// The first tune whose title holds a text; one whose title it is goes before.
static void
tunes_are_chosen_by_title(void** const state)
{
  (void)state;
  static const char abc[] =
      "X:1\nT:The Long Lane\nK:C\nC|\n\nX:1\nT:The Lane\nT:Mill Lane\nK:D\nD|\n\n"
      "X:2\nT:Mill Lane by Night\nK:E\nE|\n";
  static const struct {
    const char* title;
    int midi; ///< 0 if there are none or several
  } cases[] = {{"long", 60},      {"THE LANE", 62}, {"the lane", 62},
               {"mill lane", 62}, {"by night", 64}, {"mill", 0},
               {"lane", 0},       {"meadow", 0},    {"Lane by N", 64}};
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const SrPhraseChoice choice = {.title = cases[i].title};
    SrPhrase* phrase = NULL;
    SrError error = {0};
    const SrStatus status =
        sr_phrase_read_text(abc, strlen(abc), "tunes", &choice, &phrase, &error);
    assert_int_equal(status, cases[i].midi ? SR_OK : SR_NOT_FOUND);
    if (cases[i].midi) {
      assert_int_equal(sr_phrase_note(phrase, 0)->midi, cases[i].midi);
    } else {
      assert_non_null(strstr(error.message, cases[i].title));
    }
    sr_phrase_del(phrase);
  }
}

/// Without M: the dance tells the meter (common practice, no source), and that is reported.
static void
meter_follows_the_dance(void** const state)
{
  (void)state;
  static const struct {
    const char* head;
    int beats;
    int unit;
    bool reported;
  } cases[] = {
      {"R:jig\nK:D", 6, 8, true},        {"R:Double Jig\nK:D", 6, 8, true},
      {"R:slip jig\nK:D", 9, 8, true},   {"R:reel\nK:D", 4, 4, true},
      {"R:hornpipe\nK:D", 4, 4, true},   {"R:polka\nK:D", 2, 4, true},
      {"R:slide\nK:D", 12, 8, true},     {"R:waltz\nK:D", 3, 4, true},
      {"R:mazurka\nK:D", 3, 4, true},    {"M:3/4\nR:jig\nK:D", 3, 4, false},
      {"R:jig\nM:C|\nK:D", 2, 2, false}, {"R:jig\nK:D\nM:9/8", 9, 8, false},
      {"R:drill\nK:D", 4, 4, false},     {"K:D", 4, 4, false},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char abc[256];
    snprintf(abc, sizeof(abc), "X:1\n%s\nDEF|GAB|\n", cases[i].head);
    SrPhrase* const phrase = sr_test_phrase(abc, NULL);
    const SrPhraseBar* const bar = sr_phrase_bar(phrase, 0);
    if (bar->meter_beats != cases[i].beats || bar->meter_unit != cases[i].unit) {
      fail_msg("%s is in %d/%d", cases[i].head, bar->meter_beats, bar->meter_unit);
    }
    assert_int_equal(sr_phrase_remark_count(phrase), cases[i].reported);
    assert_true(!cases[i].reported || strstr(sr_phrase_remark(phrase, 0), "M:"));
    sr_phrase_del(phrase);
  }
  // The unit is that of the meter (ABC 2.1, section 3.1.7): 2/4 is 0.5, under 0.75
  sr_test_assert_notes("R:polka\nK:C", "CD|", "60*1/2 62*1/2");
}

/// What is not of the first voice is passed over, and reported.
static void
further_voices_are_passed_over(void** const state)
{
  (void)state;
  static const char* const tunes[] = {
      "X:1\nL:1/8\nV:1\nV:2 bass\nK:C\nV:1\nCDEF|\nV:2\n[K:D]C4|\nL:1/4\nV:1\nGABc|\n",
      "X:1\nL:1/8\nK:C\n[V:a]CDEF|[V:b]c'4{nonsense|\n[V:a] GABc|\n[V:b] & ]|",
      "X:1\nL:1/8\nK:C\nV:T\nCDEF|\nV:B\nM:3/4\nK:G\nF,2|F,2|\nw: la la\n[V:T]GABc|",
  };
  for (size_t i = 0; i < sizeof(tunes) / sizeof(tunes[0]); ++i) {
    SrPhrase* const phrase = sr_test_phrase(tunes[i], NULL);
    char* const notes = sr_test_notes(phrase);
    assert_string_equal(notes, "60 62 64 65 67 69 71 72");
    assert_int_equal(sr_phrase_remark_count(phrase), 1);
    assert_non_null(strstr(sr_phrase_remark(phrase, 0), "voice"));
    free(notes);
    sr_phrase_del(phrase);
  }
}

/// All pitches move, and notes are called as in the key of the fewest signs.
static void
transposed(void** const state)
{
  (void)state;
  static const char abc[] = "X:1\nL:1/8\nK:D\n{A}F{GA}F[DFA]|_BC|\n";
  static const struct {
    int semitones;
    const char* names; ///< F♯, F♯, A, B♭, C♯ in the other key
  } cases[] = {{0, "F♯ F♯ A B♭ C♯"}, {5, "B B D D♯ F♯"},    {-2, "E E G G♯ B"}, {1, "G G B♭ B D"},
               {-1, "F F A♭ A C"},   {12, "F♯ F♯ A B♭ C♯"}, {-4, "D D F G♭ A"}};
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const int n = cases[i].semitones;
    SrPhrase* const one = sr_test_phrase(abc, &(SrPhraseChoice){.transpose = n});
    SrPhrase* const plain = sr_test_phrase(abc, NULL);
    SrPhrase* two = NULL;
    assert_int_equal(sr_phrase_transpose(plain, n, &two, NULL), SR_OK);
    const SrPhrase* const both[] = {one, two};
    for (size_t b = 0; b < 2; ++b) {
      const SrPhrase* const phrase = both[b];
      char names[64] = "";
      for (size_t j = 0; j < 5; ++j) {
        const SrPhraseNote* const note = sr_phrase_note(phrase, j);
        strcat(strcat(names, j ? " " : ""), note->name);
        assert_int_equal(note->midi, sr_phrase_note(plain, j)->midi + n);
      }
      if (n % 12 != 0) {
        assert_string_equal(names, cases[i].names);
      }
      assert_int_equal(sr_phrase_note(phrase, 0)->cut_midi, 69 + n);
      assert_int_equal(sr_phrase_note(phrase, 1)->cut_midi, -1);
      assert_int_equal(sr_phrase_note(phrase, 1)->ornament_midi[1], 69 + n);
      assert_int_equal(sr_phrase_note(phrase, 2)->chord_midi[0], 62 + n);
      assert_int_equal(sr_phrase_transposed(phrase), n);
    }
    sr_phrase_del(one);
    sr_phrase_del(two);
    sr_phrase_del(plain);
  }
  SrPhrase* none = NULL;
  SrError error;
  static const char low[] = "X:1\nK:C\nC,,,,\n";
  const SrPhraseChoice down = {.transpose = -24};
  assert_int_equal(sr_phrase_read_text(low, strlen(low), "low", &down, &none, &error),
                   SR_UNSUPPORTED);
  assert_null(none);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cuts_belong_to_notes),
      cmocka_unit_test(ornaments),
      cmocka_unit_test(marks),
      cmocka_unit_test(names_and_places),
      cmocka_unit_test(bars_are_numbered_as_written),
      cmocka_unit_test(bars_are_chosen),
      cmocka_unit_test(parts_are_chosen),
      cmocka_unit_test(pulses),
      cmocka_unit_test(titles_and_lines),
      cmocka_unit_test(tunes_are_chosen),
      cmocka_unit_test(tunes_are_chosen_by_title),
      cmocka_unit_test(meter_follows_the_dance),
      cmocka_unit_test(further_voices_are_passed_over),
      cmocka_unit_test(transposed),
  };
  return cmocka_run_group_tests_name("phrase", tests, NULL, NULL);
}
