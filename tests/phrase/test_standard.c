// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_standard.c
   The tables and examples of the ABC standard 2.1 (December 2011). Beside each check
   stands its section. MIDI numbers: middle C, the standard's C, is 60 (MIDI 1.0).

   Where abc2midi 4.84 goes its own way the standard is followed, and the check is
   marked "not as abc2midi".
*/

#include "phrase_text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define EIGHTHS "M:4/4\nL:1/8"

/// 3.1.14: the table of keys, a row a signature from seven sharps to seven flats.
static const char* const KEYS[15][7] = {
    {"C#", "A#m", "G#Mix", "D#Dor", "E#Phr", "F#Lyd", "B#Loc"},
    {"F#", "D#m", "C#Mix", "G#Dor", "A#Phr", "BLyd", "E#Loc"},
    {"B", "G#m", "F#Mix", "C#Dor", "D#Phr", "ELyd", "A#Loc"},
    {"E", "C#m", "BMix", "F#Dor", "G#Phr", "ALyd", "D#Loc"},
    {"A", "F#m", "EMix", "BDor", "C#Phr", "DLyd", "G#Loc"},
    {"D", "Bm", "AMix", "EDor", "F#Phr", "GLyd", "C#Loc"},
    {"G", "Em", "DMix", "ADor", "BPhr", "CLyd", "F#Loc"},
    {"C", "Am", "GMix", "DDor", "EPhr", "FLyd", "BLoc"},
    {"F", "Dm", "CMix", "GDor", "APhr", "BbLyd", "ELoc"},
    {"Bb", "Gm", "FMix", "CDor", "DPhr", "EbLyd", "ALoc"},
    {"Eb", "Cm", "BbMix", "FDor", "GPhr", "AbLyd", "DLoc"},
    {"Ab", "Fm", "EbMix", "BbDor", "CPhr", "DbLyd", "GLoc"},
    {"Db", "Bbm", "AbMix", "EbDor", "FPhr", "GbLyd", "CLoc"},
    {"Gb", "Ebm", "DbMix", "AbDor", "BbPhr", "CbLyd", "FLoc"},
    {"Cb", "Abm", "GbMix", "DbDor", "EbPhr", "FbLyd", "BbLoc"},
};

/// The scale C D E F G A B under so many sharps (flats below 0), as sr_test_notes().
static void
scale(const int sharps, char* const text, const size_t size)
{
  // Order of the sharps and, backwards, of the flats: common practice, no source
  static const int order[7] = {3, 0, 4, 1, 5, 2, 6};
  int midi[7] = {60, 62, 64, 65, 67, 69, 71};
  for (int i = 0; i < sharps; ++i) {
    ++midi[order[i]];
  }
  for (int i = 0; i < -sharps; ++i) {
    --midi[order[6 - i]];
  }
  snprintf(text, size, "%d %d %d %d %d %d %d", midi[0], midi[1], midi[2], midi[3], midi[4], midi[5],
           midi[6]);
}

static void
assert_key(const char* const key, const int sharps)
{
  char head[64];
  char expected[64];
  snprintf(head, sizeof(head), "L:1/8\nK:%s", key);
  scale(sharps, expected, sizeof(expected));
  sr_test_assert_notes(head, "CDEFGAB|", expected);
  // The same inside the tune, in the place of another key
  char body[80];
  snprintf(body, sizeof(body), "[K:%s]CDEFGAB|", key);
  sr_test_assert_notes("L:1/8\nK:E", body, expected);
}

static void
keys(void** const state)
{
  (void)state;
  for (int row = 0; row < 15; ++row) {
    for (int mode = 0; mode < 7; ++mode) {
      assert_key(KEYS[row][mode], 7 - row);
    }
  }
}

/// 3.1.14: spellings
static void
spellings_of_keys(void** const state)
{
  (void)state;
  static const char* const plain[] = {
      "C major",  "A minor",   "C ionian", "A aeolian", "G mixolydian", "D dorian", "E phrygian",
      "F lydian", "B locrian", "none",     ""};
  for (size_t i = 0; i < sizeof(plain) / sizeof(plain[0]); ++i) {
    assert_key(plain[i], 0);
  }
  assert_key("F# mixolydian", 5);
  assert_key("F#Mix", 5);
  assert_key("F#MIX", 5);
  assert_key("D exp ^f ^c", 2);
  assert_key("D maj =c", 1);
  assert_key("D =c", 1);
  // D Phr with its F sharp: two flats and one sharp
  sr_test_assert_notes("L:1/8\nK:D Phr ^f", "CDEFGAB", "60 62 63 66 67 69 70");
  sr_test_assert_notes("L:1/8\nK:D exp _b _e ^f", "CDEFGAB", "60 62 63 66 67 69 70");
  // The pipes' scale G A B ^c d e ^f g a, with and without its signature
  sr_test_assert_notes("L:1/8\nK:HP", "GABcdefga", "67 69 71 73 74 76 78 79 81");
  sr_test_assert_notes("L:1/8\nK:Hp", "GABcdefga", "67 69 71 73 74 76 78 79 81");
}

/// 3.1.6 and 3.1.7
static void
meters_and_units(void** const state)
{
  (void)state;
  static const struct {
    const char* meter;
    int beats;
    int unit;
    const char* length; ///< Of one letter without L:
  } cases[] = {{"2/4", 2, 4, "60*1/2"}, {"4/4", 4, 4, "60"},       {"6/8", 6, 8, "60"},
               {"3/4", 3, 4, "60"},     {"C", 4, 4, "60"},         {"C|", 2, 2, "60"},
               {"none", 4, 4, "60"},    {"(2+3+2)/8", 7, 8, "60"}, {"2+3+2/8", 7, 8, "60"},
               {"5/8", 5, 8, "60*1/2"}};
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    char abc[128];
    snprintf(abc, sizeof(abc), "X:1\nM:%s\nK:C\nC|\n", cases[i].meter);
    SrPhrase* const phrase = sr_test_phrase(abc, NULL);
    char* const notes = sr_test_notes(phrase);
    assert_string_equal(notes, cases[i].length);
    assert_int_equal(sr_phrase_bar(phrase, 0)->meter_beats, cases[i].beats);
    assert_int_equal(sr_phrase_bar(phrase, 0)->meter_unit, cases[i].unit);
    free(notes);
    sr_phrase_del(phrase);
  }
  // No M: at all is free meter
  sr_test_assert_notes("K:C", "C|", "60");
  // "A meter change within the body of the tune will not change the unit note length"
  sr_test_assert_notes("M:4/4\nK:C", "C|[M:2/4]C|\nM:2/4\nC|", "60 60 60");
  sr_test_assert_notes("M:2/4\nK:C", "C|[M:4/4]C|", "60*1/2 60*1/2");
  sr_test_assert_notes("L:1\nK:C", "C", "60*8");
  sr_test_assert_notes("L:1/1\nK:C", "C", "60*8");
  sr_test_assert_notes("L:1/512\nK:C", "C", "60*1/64");
}

static double
tempo_of(const char* const field)
{
  char abc[128];
  snprintf(abc, sizeof(abc), "X:1\nM:4/4\nL:1/8\nQ:%s\nK:C\nC|\n", field);
  SrPhrase* const phrase = sr_test_phrase(abc, NULL);
  const double tempo = sr_phrase_tempo(phrase);
  sr_phrase_del(phrase);
  return tempo;
}

/// 3.1.8; in 4/4 the pulse is a quarter
static void
tempi(void** const state)
{
  (void)state;
  assert_float_equal(tempo_of("1/2=120"), 240.0, 1e-9);
  assert_float_equal(tempo_of("1/4 3/8 1/4 3/8=40"), 200.0, 1e-9);
  assert_float_equal(tempo_of("5/4=40"), 200.0, 1e-9);
  assert_float_equal(tempo_of("\"Allegro\" 1/4=120"), 120.0, 1e-9);
  assert_float_equal(tempo_of("3/8=50 \"Slowly\""), 75.0, 1e-9);
  assert_float_equal(tempo_of("\"Andante\""), 0.0, 1e-9);
}

/// 3.1.9
static void
orders_of_parts(void** const state)
{
  (void)state;
  static const char body[] = "P:A\nA|\nP:B\nB|\nP:C\nc|\nP:D\nd|";
  sr_test_assert_notes(EIGHTHS "\nP:A3\nK:C", body, "69 69 69");
  sr_test_assert_notes(EIGHTHS "\nP:(AB)3\nK:C", body, "69 71 69 71 69 71");
  sr_test_assert_notes(EIGHTHS "\nP:ABABCDCD\nK:C", body, "69 71 69 71 72 74 72 74");
  sr_test_assert_notes(EIGHTHS "\nP:((AB)3.(CD)3)2\nK:C", body,
                       "69 71 69 71 69 71 72 74 72 74 72 74 69 71 69 71 69 71 72 74 72 74 72 74");
}

/// 2.2.2, 2.2.5, 2.2.6, 3.2
static void
lines_and_fields(void** const state)
{
  (void)state;
  sr_test_assert_same("M:6/8\nL:1/8", "|:DEF FED|\nDEF FED:|",
                      "|:DEF FED| % this is an end of line comment\n% this is a comment line\n"
                      "   % and this one\nDEF [r:and this is a remark] FED:|");
  sr_test_assert_same("M:6/8\nL:1/8\nK:D", "E2E EFE|E2E EFG|[M:9/8] A2G F2E D2|]",
                      "E2E EFE|E2E EFG|\\\nM:9/8\nA2G F2E D2|]");
  SrPhrase* const phrase = sr_test_phrase("%abc-2.1\n% a remark\nM:3/4\nL:1/4\n%%scale 0.7\n\n"
                                          "free text: K:E\n\nX:1\nK:D\nF\n\nX:2\nL:1/8\nK:D\nF\n",
                                          NULL);
  char* const notes = sr_test_notes(phrase);
  assert_string_equal(notes, "66*2");
  assert_int_equal(sr_phrase_bar(phrase, 0)->meter_beats, 3);
  free(notes);
  sr_phrase_del(phrase);
}

/// 4.1 and 4.2
static void
pitches(void** const state)
{
  (void)state;
  sr_test_assert_notes(EIGHTHS, "C,D,E,F,G,A,B,CDEFGABcdefgabc'd'",
                       "48 50 52 53 55 57 59 60 62 64 65 67 69 71 72 74 76 77 79 81 83 84 86");
  // Any row of marks adds up: not as abc2midi
  sr_test_assert_same(EIGHTHS, "C,', C'", "C, c");
  sr_test_assert_notes(EIGHTHS, "^C =C _D ^^F __B", "61 60 61 67 69");
}

/// 4.3
static void
lengths(void** const state)
{
  (void)state;
  sr_test_assert_notes("M:none\nL:1/16", "A A1 A2 A3 A4 A6 A7 A8 A12 A14 A15",
                       "69*1/2 69*1/2 69 69*3/2 69*2 69*3 69*7/2 69*4 69*6 69*7 69*15/2");
  sr_test_assert_notes("M:none\nL:1/8", "A A2 A3 A4 A/2 A3/2 A/4 A/ A// A///",
                       "69 69*2 69*3 69*4 69*1/2 69*3/2 69*1/4 69*1/2 69*1/4 69*1/8");
}

/// 4.4, and 4.12 on graces within
static void
broken_rhythm(void** const state)
{
  (void)state;
  char* const first = sr_test_tune_notes("L:1/16", "a3b cd3 a2b2c2d2");
  sr_test_assert_notes("L:1/8", "a3/2b/2 c/2d3/2 abcd", first);
  sr_test_assert_notes("L:1/8", "a>b c<d abcd", first);
  free(first);
  sr_test_assert_notes(EIGHTHS, "a>>b a>>>b a<<b a<<<b",
                       "81*7/4 83*1/4 81*15/8 83*1/8 81*1/4 83*7/4 81*1/8 83*15/8");
  sr_test_assert_same(EIGHTHS, "A<{g}A", "A/2{g}A3/2");
  sr_test_assert_same(EIGHTHS, "A{g}<A", "A/2{g}A3/2");
}

/// 4.5
static void
rests(void** const state)
{
  (void)state;
  sr_test_assert_same("M:2/4\nL:1/8", "Z4|CD EF|GA Bc", "z4|z4|z4|z4|CD EF|GA Bc");
  sr_test_assert_same("M:2/4\nL:1/8", "X4|CD EF|GA Bc", "x4|x4|x4|x4|CD EF|GA Bc");
  sr_test_assert_same("M:2/4\nL:1/8", "Z|C4", "z4|C4");
  sr_test_assert_same("M:2/4\nL:1/8", "X|C4", "x4|C4");
  sr_test_assert_notes(EIGHTHS, "Cz3/2Cx/C", "60 z*3/2 60 z*1/2 60");
}

/// 4.6
static void
clefs_and_transposition(void** const state)
{
  (void)state;
  sr_test_assert_notes("L:1/8\nK:Am transpose=-2", "A", "67");
  sr_test_assert_notes("L:1/8\nK:Am t=-2", "A", "67"); // not as abc2midi
  sr_test_assert_notes("L:1/8\nK:C octave=-1", "A", "57");
  sr_test_assert_notes("L:1/8\nK:C treble-8", "A", "57");
  sr_test_assert_notes("L:1/8\nK:C clef=treble+8", "A", "81");
  sr_test_assert_notes("L:1/8\nK:bass middle=d transpose=-24", "a", "57");
  sr_test_assert_notes("L:1/8\nK:perc stafflines=1", "A", "69");
  sr_test_assert_notes("L:1/8\nV:B octave=1 bass\nK:C", "A", "81");
  // A new clef inside the tune: not as abc2midi
  sr_test_assert_notes("L:1/8\nK:C treble-8", "A[K:treble+8]A[K:clef=treble]A", "57 81 69");
}

/// 4.7
static void
beams(void** const state)
{
  (void)state;
  sr_test_assert_same(EIGHTHS, "A2``B``C", "A2BC");
  sr_test_assert_same(EIGHTHS, "A2 B C", "A2BC");
  sr_test_assert_same(EIGHTHS, "ABC2DE", "AB C2 DE");
}

/// 4.8
static void
bar_lines(void** const state)
{
  (void)state;
  static const char* const plain[] = {"|", "|]", "||", "[|", ".|", "[|]", "|[|", "|||"};
  for (size_t i = 0; i < sizeof(plain) / sizeof(plain[0]); ++i) {
    char body[64];
    snprintf(body, sizeof(body), "C4 C4%sD8%sE8|]", plain[i], plain[i]);
    sr_test_assert_notes(EIGHTHS, body, "60*4 60*4 62*8 64*8");
  }
  static const char* const twice[] = {"::", ":|:", ":||:", ":| |:", ":|\n|:"};
  for (size_t i = 0; i < sizeof(twice) / sizeof(twice[0]); ++i) {
    char body[64];
    snprintf(body, sizeof(body), "|:C8%sD8:|", twice[i]);
    sr_test_assert_notes(EIGHTHS, body, "60*8 60*8 62*8 62*8");
  }
  // Three and four times: not as abc2midi
  sr_test_assert_notes(EIGHTHS, "|::C8::|D8|]", "60*8 60*8 60*8 62*8");
  sr_test_assert_notes(EIGHTHS, "[|:::C8:::|D8|]", "60*8 60*8 60*8 60*8 62*8");
  // Without a start: from the beginning, the latest double bar (not as abc2midi) or repeat
  sr_test_assert_notes(EIGHTHS, "C8|D8:|", "60*8 62*8 60*8 62*8");
  sr_test_assert_notes(EIGHTHS, "C8||D8:|", "60*8 62*8 62*8");
  sr_test_assert_notes(EIGHTHS, "C8:|D8:|", "60*8 60*8 62*8 62*8");
  // An invisible bar line is no double bar: not as abc2midi
  sr_test_assert_notes(EIGHTHS, "C8[|]D8:|", "60*8 62*8 60*8 62*8");
  // With a start a double bar in between does not matter
  sr_test_assert_notes(EIGHTHS, "|:C8||D8:|", "60*8 62*8 60*8 62*8");
}

/// 4.9
static void
first_and_second_repeats(void** const state)
{
  (void)state;
  sr_test_assert_same("M:6/8\nL:1/8\nK:G", "faf gfe|[1 dfe dBA:|[2 d2e dcB|]",
                      "faf gfe|dfe dBA|faf gfe|d2e dcB|]");
  sr_test_assert_same("M:6/8\nL:1/8\nK:G", "|:faf gfe|1 dfe dBA:|2 d2e dcB|]",
                      "faf gfe|dfe dBA|faf gfe|d2e dcB|]");
  sr_test_assert_same("M:6/8\nL:1/8\nK:G", "faf gfe| [1 dfe dBA :| [2 d2e dcB |]",
                      "faf gfe|dfe dBA|faf gfe|d2e dcB|]");
}

/// 4.10
static void
variant_endings(void** const state)
{
  (void)state;
  // Each playing of the part with its own ending: not as abc2midi
  sr_test_assert_notes(EIGHTHS "\nP:A4.B2\nK:C", "P:A\nC8|[1 D8:|[2 E8:|[3 F8:|[4 G8|]\nP:B\nA8|]",
                       "60*8 62*8 60*8 64*8 60*8 65*8 60*8 67*8 69*8 69*8");
  sr_test_assert_notes(EIGHTHS, "|:C8|[1,3 D8:|[2 E8:|", "60*8 62*8 60*8 64*8 60*8 62*8");
  sr_test_assert_notes(EIGHTHS, "|:C8|[1-3 D8:|[4 E8|]", "60*8 62*8 60*8 62*8 60*8 62*8 60*8 64*8");
  sr_test_assert_notes(EIGHTHS, "|:C8|[1,3,5-7 D8:|[2,4,8 E8:|",
                       "60*8 62*8 60*8 64*8 60*8 62*8 60*8 64*8 60*8 62*8 60*8 62*8 60*8 62*8 60*8 "
                       "64*8");
  // "ends with one of || :| |] [|"
  static const char* const ends[] = {"||", ":|", "|]", "[|"};
  for (size_t i = 0; i < sizeof(ends) / sizeof(ends[0]); ++i) {
    char body[64];
    snprintf(body, sizeof(body), "|:C8|1 D8:|2 E8|F8%sG8|", ends[i]);
    sr_test_assert_notes(EIGHTHS, body, "60*8 62*8 60*8 64*8 65*8 67*8");
  }
}

/// 4.11
static void
ties_and_slurs(void** const state)
{
  (void)state;
  sr_test_assert_notes(EIGHTHS, "abc-|cba", "81 83 72*2 83 81");
  sr_test_assert_notes(EIGHTHS, "c4-c4", "72*8");
  sr_test_assert_notes(EIGHTHS, "C.-C", "60*2");
  sr_test_assert_same(EIGHTHS, "(c (d e f) g a)", "cdefga");
  sr_test_assert_same(EIGHTHS, "(c d (e) f g a)", "cdefga");
  sr_test_assert_same(EIGHTHS, ".(cde)", "cde");
  // "Ties connect two successive notes of the same pitch", a slur does not
  sr_test_assert_notes(EIGHTHS, "(c4c4)", "72*4 72*4");
  sr_test_assert_notes(EIGHTHS, "c4-d4", "72*4 74*4");
  // "abc|-cba is not legal"
  SrPhrase* phrase = NULL;
  SrError error = {0};
  static const char illegal[] = "X:1\nK:C\nabc|-cba\n";
  assert_int_equal(sr_phrase_read_text(illegal, sizeof(illegal) - 1, "t", NULL, &phrase, &error),
                   SR_BAD_SYNTAX);
  assert_int_equal(error.column, 5);
}

/// 4.12
static void
graces(void** const state)
{
  (void)state;
  static const char* const forms[] = {"{GdGe}", "{a3/2b/}", "{a>b}", "{ge4d}", "{/g}", "{/gagab}"};
  static const int counts[] = {4, 2, 2, 3, 0, 5};
  for (size_t i = 0; i < sizeof(forms) / sizeof(forms[0]); ++i) {
    char abc[64];
    snprintf(abc, sizeof(abc), "X:1\nL:1/8\nK:C\n%sC\n", forms[i]);
    SrPhrase* const phrase = sr_test_phrase(abc, NULL);
    assert_int_equal(sr_phrase_note_count(phrase), 1);
    assert_int_equal(sr_phrase_note(phrase, 0)->ornament_count, counts[i]);
    assert_int_equal(sr_phrase_note(phrase, 0)->cut_midi, counts[i] ? -1 : 79);
    sr_phrase_del(phrase);
  }
}

/// 4.13: the table; n is 3 in 6/8, 9/8 and 12/8, else 2
static void
tuplets(void** const state)
{
  (void)state;
  static const int simple[10] = {0, 0, 3, 2, 3, 2, 2, 2, 3, 2};
  static const int compound[10] = {0, 0, 3, 2, 3, 3, 2, 3, 3, 3};
  // 6/4 and 3/8 are not in the standard's list: not as abc2midi
  static const struct {
    const char* meter;
    const int* time;
  } meters[] = {{"2/4", simple},   {"3/4", simple},   {"4/4", simple},  {"C|", simple},
                {"3/8", simple},   {"6/4", simple},   {"none", simple}, {"6/8", compound},
                {"9/8", compound}, {"12/8", compound}};
  for (size_t m = 0; m < sizeof(meters) / sizeof(meters[0]); ++m) {
    for (int p = 2; p <= 9; ++p) {
      char abc[64];
      snprintf(abc, sizeof(abc), "X:1\nM:%s\nL:1/8\nK:C\n(%d%.*sC\n", meters[m].meter, p, p,
               "cdefgabcd");
      SrPhrase* const phrase = sr_test_phrase(abc, NULL);
      const size_t count = (size_t)p;
      assert_int_equal(sr_phrase_note_count(phrase), count + 1);
      // The notes fill their time, and the next one is an eighth again
      const SrFraction end = sr_phrase_note(phrase, count)->start;
      assert_int_equal(end.numerator * 8, meters[m].time[p] * end.denominator);
      assert_int_equal(sr_phrase_note(phrase, count)->length.denominator, 8);
      sr_phrase_del(phrase);
    }
  }
  static const char* const three[] = {"(3", "(3::", "(3:2", "(3:2:3"};
  for (size_t i = 0; i < sizeof(three) / sizeof(three[0]); ++i) {
    char body[32];
    snprintf(body, sizeof(body), "%s cde f", three[i]);
    sr_test_assert_notes(EIGHTHS, body, "72*2/3 74*2/3 76*2/3 77");
  }
  sr_test_assert_same(EIGHTHS, "(3::2 G4c2 e", "(3:2:2 G4c2 e");
  sr_test_assert_notes(EIGHTHS, "(3:2:2 G4c2 e", "67*8/3 72*4/3 76");
  sr_test_assert_notes(EIGHTHS, "(3:2:4 G2A2Bc e", "67*4/3 69*4/3 71*2/3 72*2/3 76");
  sr_test_assert_notes(EIGHTHS, "(3 D2E2F2 e", "62*4/3 64*4/3 65*4/3 76");
  sr_test_assert_notes(EIGHTHS, "(3 D3EF2 e", "62*2 64*2/3 65*4/3 76");
}

/// 4.14 to 4.16
static void
decorations(void** const state)
{
  (void)state;
  sr_test_assert_same(EIGHTHS, "(3.a.b.c vAuBvA", "(3abc ABA");
  sr_test_assert_same(EIGHTHS, "~A HA LA MA OA PA SA TA uA vA", "AAAAAAAAAA");
  sr_test_assert_same(EIGHTHS, "[!1!C!3!E!5!G]  !coda! y  !p! !trill! C   !fermata!|",
                      "[CEG]  C |");
  sr_test_assert_same(EIGHTHS, "!<(! A !<)! !D.S.! B !+! c !>! d !unheard-of! e", "ABcde");
  sr_test_assert_same(EIGHTHS, "C2  C2 Ez   A2|\ns: \"C\" *  \"Am\" * |\ns: *   *  !>!  * |",
                      "C2C2EzA2|");
  sr_test_assert_same(EIGHTHS "\nU: T = !trill!\nU: U = !trill!\nU: p = \"^+\"", "TA UA pA", "AAA");
}

/// 4.17
static void
chords(void** const state)
{
  (void)state;
  // The top note is the melody: ours
  sr_test_assert_notes(EIGHTHS, "[CEGc]", "72");
  sr_test_assert_notes(EIGHTHS, "[d2f2][ce][df]", "77*2 76 77");
  sr_test_assert_same(EIGHTHS, "[C2E2G2]3", "[CEG]6");
  sr_test_assert_notes(EIGHTHS, "[DD]", "62");
  // "the chord duration is that of the first note"
  sr_test_assert_notes(EIGHTHS, "[C3E2G]", "67*3");
  sr_test_assert_notes(EIGHTHS,
                       "( \"^I\" !f! [CEG]- > [CEG] \"^IV\" [F=AC]3/2\"^V\"[GBD]/  H[CEG]2 )",
                       "67*2 69*3/2 71*1/2 67*2");
}

/// 4.18 to 4.20
static void
annotations_and_order(void** const state)
{
  (void)state;
  sr_test_assert_same(EIGHTHS, "\"Am7\"A2D2 \"C/E\"G \"G(Em)\"B \"<(\" \">)\" C", "A2D2GBC");
  sr_test_assert_notes(EIGHTHS, "~^c'3 \"Gm7\"v.=G,2 =G,2- |", "85*3 55*2 55*2");
  sr_test_assert_notes(EIGHTHS, "\"C\"[CEGc]|\n|\"Gm7\"[.=G,^c']", "72 85");
  sr_test_assert_notes(EIGHTHS, "\"Gm7\"(v.=G,2~^c'2)", "55*2 85*2");
}

/// 11.3; its default is pitch
static void
accidentals_in_a_bar(void** const state)
{
  (void)state;
  static const char body[] = "^CCcC,|C=F|\nFf^f_F|F";
  sr_test_assert_notes(EIGHTHS, body, "61 61 73 49 60 65 65 77 78 64 65");
  sr_test_assert_same(EIGHTHS "\n%%propagate-accidentals pitch", body, "^C^C^c^C,|CF|Ff^f_F|F");
  sr_test_assert_notes(EIGHTHS "\n%%propagate-accidentals octave\nK:C", "^CCcC,|C",
                       "61 61 72 48 60");
  sr_test_assert_notes(EIGHTHS "\nI:propagate-accidentals not\nK:C", "^CCcC,|C", "61 60 72 48 60");
  // A natural against the key, and a tie over the line: common practice, no source
  sr_test_assert_notes("L:1/8\nK:D", "=FF^F|F", "65 65 66 66");
  sr_test_assert_notes("L:1/8\nK:C", "^F-|FF|", "66*2 65");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(keys),
      cmocka_unit_test(spellings_of_keys),
      cmocka_unit_test(meters_and_units),
      cmocka_unit_test(tempi),
      cmocka_unit_test(orders_of_parts),
      cmocka_unit_test(lines_and_fields),
      cmocka_unit_test(pitches),
      cmocka_unit_test(lengths),
      cmocka_unit_test(broken_rhythm),
      cmocka_unit_test(rests),
      cmocka_unit_test(clefs_and_transposition),
      cmocka_unit_test(beams),
      cmocka_unit_test(bar_lines),
      cmocka_unit_test(first_and_second_repeats),
      cmocka_unit_test(variant_endings),
      cmocka_unit_test(ties_and_slurs),
      cmocka_unit_test(graces),
      cmocka_unit_test(tuplets),
      cmocka_unit_test(decorations),
      cmocka_unit_test(chords),
      cmocka_unit_test(annotations_and_order),
      cmocka_unit_test(accidentals_in_a_bar),
  };
  return cmocka_run_group_tests_name("ABC 2.1", tests, NULL, NULL);
}
