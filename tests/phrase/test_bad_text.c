// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_bad_text.c
   Broken texts: each gets its status, line and column; and no truncation, no change of
   bytes and no size gives anything but a whole phrase or one clear error.

   usage: test_bad_text FILE.abc
*/

#include "outcome.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#define HEAD "X:1\nM:4/4\nL:1/8\nK:C\n"

static const char* features_path;

static void
places_of_errors(void** const state)
{
  (void)state;
  // Invented. `quote` is the offending text that the message must hold.
  static const struct {
    const char* text;
    SrStatus status;
    unsigned line;
    unsigned column;
    const char* quote;
  } cases[] = {
      {"", SR_BAD_SYNTAX, 0, 0, ""},
      {"hello\n", SR_BAD_SYNTAX, 0, 0, ""},
      {"X:1\n", SR_BAD_SYNTAX, 1, 4, "K:"},
      {"X:1\nT:One\nABC\n", SR_BAD_SYNTAX, 3, 1, "\"ABC\""},
      {"X:1\nT:One\n\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 6, "K:"},
      {HEAD, SR_BAD_SYNTAX, 4, 4, "no notes"},
      {HEAD "z4|z4|\n", SR_BAD_SYNTAX, 5, 7, "no notes"},
      {"X:1\nK:Q\nABC\n", SR_BAD_SYNTAX, 2, 3, "\"Q\""},
      {"X:1\nK:G#\nABC\n", SR_BAD_SYNTAX, 2, 3, "\"G#\""},
      {"X:1\nK:D ^f ^h\nABC\n", SR_BAD_SYNTAX, 2, 8, "\"^h\""},
      {"X:1\nK:A mixx clef\nABC [K:D wrong]D\n", SR_BAD_SYNTAX, 3, 10, "\"wrong]D\""},
      {"X:1\nM:6\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"M:6\""},
      {"X:1\nM:6/7\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"M:6/7\""},
      {"X:1\nM:0/4\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"M:0/4\""},
      {"X:1\nL:1/0\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"L:1/0\""},
      {"X:1\nL:eighth\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"L:eighth\""},
      {"X:1\nQ:fast\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"Q:fast\""},
      {"X:1\nQ:1/4=0\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"Q:1/4=0\""},
      {"X:1\nU: 7 = !trill!\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"U: 7"},
      {"X:1\nI:propagate-accidentals up\nK:C\nA\n", SR_BAD_SYNTAX, 2, 1, "\"I:propagate"},
      {"X:1\nm: ~G2 = {A}G{F}G\nK:C\nABC\n", SR_UNSUPPORTED, 2, 1, "\"m: ~G2"},
      {"m: n = C\n\nX:1\nK:C\nABC\n", SR_UNSUPPORTED, 1, 1, "\"m: n"},
      {"X:1\nV:\nK:C\nABC\n", SR_BAD_SYNTAX, 2, 1, "\"V:\""},
      {HEAD "V:one\nABC\nV:two\nA{\nV:one\nAB{c\n", SR_BAD_SYNTAX, 10, 3, "\"{c\""},
      {HEAD "V:1\nABC|[V:2]ABC|[V:\n", SR_BAD_SYNTAX, 6, 14, "\"[V:\""},
      {HEAD "ABc2 & EFG2|\n", SR_UNSUPPORTED, 5, 6, "\"& EFG2|\""},
      {HEAD "(3A(3BcdB\n", SR_UNSUPPORTED, 5, 4, "\"(3BcdB\""},
      {HEAD "AB%cd\nAB^|\n", SR_BAD_SYNTAX, 6, 3, "\"^|\""},
      {HEAD "AB^z\n", SR_BAD_SYNTAX, 5, 3, "\"^z\""},
      {HEAD "AB{c\n", SR_BAD_SYNTAX, 5, 3, "\"{c\""},
      {HEAD "AB{c|d}\n", SR_BAD_SYNTAX, 5, 5, "\"|d}\""},
      {HEAD "AB[ce\n", SR_BAD_SYNTAX, 5, 3, "\"[ce\""},
      {HEAD "AB[]\n", SR_BAD_SYNTAX, 5, 3, "\"[]\""},
      {HEAD "AB[c|e]\n", SR_BAD_SYNTAX, 5, 5, "\"|e]\""},
      {HEAD "AB[K:C\n", SR_BAD_SYNTAX, 5, 3, "\"[K:C\""},
      {HEAD "AB\"Am c\n", SR_BAD_SYNTAX, 5, 3, "Am c"},
      {HEAD "A0B\n", SR_BAD_SYNTAX, 5, 2, "\"0B\""},
      {HEAD "A/0B\n", SR_BAD_SYNTAX, 5, 2, "\"/0B\""},
      {HEAD "A2000\n", SR_TOO_LARGE, 5, 2, "\"2000\""},
      {HEAD "A1/99999999999999999999\n", SR_TOO_LARGE, 5, 2, "\"1/9999"},
      {HEAD "A////////////\n", SR_TOO_LARGE, 5, 2, "\"////"},
      {HEAD "Z9999\n", SR_TOO_LARGE, 5, 2, "\"9999\""},
      {HEAD "AZ/2\n", SR_BAD_SYNTAX, 5, 2, "\"Z/2\""},
      {"X:1\nM:none\nK:C\nAZ2\n", SR_BAD_SYNTAX, 4, 2, "\"Z2\""},
      {HEAD ">A\n", SR_BAD_SYNTAX, 5, 1, "\">A\""},
      {HEAD "A>\n", SR_BAD_SYNTAX, 5, 3, "Broken"},
      {HEAD "A>>>>B\n", SR_TOO_LARGE, 5, 2, "\">>>>B\""},
      {HEAD "A> >B\n", SR_BAD_SYNTAX, 5, 4, "\">B\""},
      {HEAD "(1A\n", SR_BAD_SYNTAX, 5, 1, "\"(1A\""},
      {HEAD "(10A\n", SR_BAD_SYNTAX, 5, 1, "\"(10A\""},
      {HEAD "(3:99:2A\n", SR_BAD_SYNTAX, 5, 1, "\"(3:99"},
      {HEAD "A(3Bc\n", SR_BAD_SYNTAX, 5, 6, "tuplet"},
      {HEAD "-A\n", SR_BAD_SYNTAX, 5, 1, "\"-A\""},
      {HEAD "z-A\n", SR_BAD_SYNTAX, 5, 2, "\"-A\""},
      {HEAD "AB : cd\n", SR_BAD_SYNTAX, 5, 4, "\": cd\""},
      {HEAD "|:A|[31 B:|\n", SR_BAD_SYNTAX, 5, 4, "\"|[31"},
      {HEAD "|:A|[2-1 B:|\n", SR_BAD_SYNTAX, 5, 4, "\"|[2-1"},
      {HEAD "A,,,,,,,\n", SR_BAD_SYNTAX, 5, 1, "\"A,,,"},
      {HEAD "a'''''\n", SR_BAD_SYNTAX, 5, 1, "\"a''"},
      {HEAD "{cccccccccc}A\n", SR_TOO_LARGE, 5, 1, "\"{ccc"},
      {HEAD "[CDEFGABcdef]\n", SR_TOO_LARGE, 5, 1, "\"[CDE"},
      {HEAD "AB\x01"
            "cd\n",
       SR_BAD_SYNTAX, 5, 3, "cd\""},
      // Columns are counted in characters: é is two bytes, € three; a stray byte is one
      {HEAD "\"\xC3\xA9\xE2\x82\xAC\"A{c\n", SR_BAD_SYNTAX, 5, 6, "\"{c\""},
      {HEAD "\"\xE9\xE9\"A{c\n", SR_BAD_SYNTAX, 5, 6, "\"{c\""},
      {HEAD "A\xE9"
            "B\n",
       SR_BAD_SYNTAX, 5, 2,
       "\"\xC3\xA9"
       "B\""},
      // Line ends of every kind, and a byte order mark that takes no column
      {"X:1\r\nK:C\r\nAB{c\r\n", SR_BAD_SYNTAX, 3, 3, "\"{c\""},
      {"X:1\rK:C\rAB{c\r", SR_BAD_SYNTAX, 3, 3, "\"{c\""},
      {"\xEF\xBB\xBFX:1\nK:C\nAB{c\n", SR_BAD_SYNTAX, 3, 3, "\"{c\""},
      {"\xEF\xBB\xBFM:x\n\nX:1\nK:C\nAB\n", SR_BAD_SYNTAX, 1, 1, "\"M:x\""},
      {"X:1\nP:A?\nK:C\nP:A\nAB\n", SR_BAD_SYNTAX, 0, 0, "A?"},
      {"X:1\nP:(A\nK:C\nP:A\nAB\n", SR_BAD_SYNTAX, 0, 0, "(A"},
      {"X:1\nP:AB\nK:C\nP:A\nAB\n", SR_NOT_FOUND, 0, 0, "part B"},
      {"X:1\nP:A999\nK:C\nP:A\nAB\n", SR_BAD_SYNTAX, 0, 0, "A999"},
  };
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    SrPhrase* phrase = NULL;
    SrError error = {0};
    const SrStatus status =
        sr_phrase_read_text(cases[i].text, strlen(cases[i].text), "name", NULL, &phrase, &error);
    if (status != cases[i].status || error.line != cases[i].line ||
        error.column != cases[i].column || !strstr(error.message, cases[i].quote)) {
      fail_msg("%s\ngives %d at %u:%u, %s\nnot %d at %u:%u with %s", cases[i].text, (int)status,
               error.line, error.column, error.message, (int)cases[i].status, cases[i].line,
               cases[i].column, cases[i].quote);
    }
    assert_null(phrase);
    assert_string_equal(error.file, "name");
    // Without an error to fill the status is the same
    assert_int_equal(
        sr_phrase_read_text(cases[i].text, strlen(cases[i].text), "name", NULL, &phrase, NULL),
        status);
  }
}

static void
files_that_cannot_be_read(void** const state)
{
  (void)state;
  SrPhrase* phrase = NULL;
  SrTuneList* list = NULL;
  SrError error = {0};
  assert_int_equal(sr_phrase_read_file("/nowhere/at/all.abc", NULL, &phrase, &error), SR_NOT_FOUND);
  assert_string_equal(error.file, "/nowhere/at/all.abc");
  assert_int_equal(sr_phrase_read_file("/", NULL, &phrase, &error), SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "folder"));
  assert_int_equal(sr_tune_list_read("/nowhere/at/all.abc", &list, &error), SR_NOT_FOUND);
  assert_null(phrase);
  assert_null(list);
}

static char*
read_features(size_t* const size)
{
  FILE* const file = fopen(features_path, "rb");
  assert_non_null(file);
  char* const text = (char*)malloc(1u << 20u);
  assert_non_null(text);
  *size = fread(text, 1, 1u << 20u, file);
  fclose(file);
  assert_true(*size > 1000);
  return text;
}

static void
check(const char* const text, const size_t size, const SrPhraseChoice* const choice,
      size_t* const read)
{
  SrStatus status = SR_OK;
  const char* const wrong = sr_test_outcome(text, size, choice, &status);
  if (wrong) {
    fail_msg("%s, for\n%.*s", wrong, (int)size, text);
  }
  *read += status == SR_OK;
}

/// Each tune, cut off at each of its bytes; a copy of exact size lets a sanitizer see past its end.
static void
truncations(void** const state)
{
  (void)state;
  size_t size = 0;
  char* const text = read_features(&size);
  text[size] = '\0';
  size_t read = 0;
  size_t tried = 0;
  for (char* start = strstr(text, "X:"); start;) {
    char* const end = strstr(start, "\n\n");
    const size_t length = end ? (size_t)(end - start) + 1 : strlen(start);
    for (size_t cut = 0; cut <= length; ++cut, ++tried) {
      char* const copy = (char*)malloc(cut ? cut : 1);
      assert_non_null(copy);
      memcpy(copy, start, cut);
      check(copy, cut, NULL, &read);
      free(copy);
    }
    start = end ? strstr(end, "X:") : NULL;
  }
  free(text);
  printf("%zu of %zu cut texts could be read\n", read, tried);
  // Both outcomes must have been seen
  assert_true(read > 500 && read < tried - 500);
}

/// A generator whose row of numbers is the same everywhere (xorshift, Marsaglia 2003).
static uint32_t
next_random(uint32_t* const seed)
{
  *seed ^= *seed << 13u;
  *seed ^= *seed >> 17u;
  *seed ^= *seed << 5u;
  return *seed;
}

static void
mutations(void** const state)
{
  (void)state;
  size_t size = 0;
  char* const text = read_features(&size);
  text[size] = '\0';
  static const char alphabet[] = "ABCdefgzZX{}[]()|:-<>^_=/\\'\",.123456789 \n%!&~\x80\xC3\xFF";
  uint32_t seed = 20261125u;
  size_t read = 0;
  size_t tried = 0;
  for (char* start = strstr(text, "X:"); start;) {
    char* const end = strstr(start, "\n\n");
    const size_t length = end ? (size_t)(end - start) + 1 : strlen(start);
    for (int round = 0; round < 150; ++round, ++tried) {
      char* const copy = (char*)malloc(length);
      assert_non_null(copy);
      memcpy(copy, start, length);
      for (uint32_t n = 1 + next_random(&seed) % 4; n > 0; --n) {
        const size_t at = next_random(&seed) % length;
        copy[at] = next_random(&seed) % 4 ? alphabet[next_random(&seed) % (sizeof(alphabet) - 1)]
                                          : (char)(next_random(&seed) & 0xFFu);
      }
      const SrPhraseChoice choice = {.tune = 0,
                                     .first_bar = (int)(next_random(&seed) % 4),
                                     .last_bar = (int)(next_random(&seed) % 8),
                                     .part = next_random(&seed) % 4 ? '\0' : 'B'};
      check(copy, length, round % 2 ? &choice : NULL, &read);
      free(copy);
    }
    start = end ? strstr(end, "X:") : NULL;
  }
  free(text);
  printf("%zu of %zu changed texts could be read\n", read, tried);
  assert_true(read > 500 && read < tried - 500);
}

/// `head`, then `piece` so many times, then `tail`.
static char*
repeat_text(const char* const head, const char* const piece, const size_t times,
            const char* const tail)
{
  const size_t step = strlen(piece);
  const size_t length = strlen(head);
  char* const text = (char*)malloc(length + step * times + strlen(tail) + 1);
  assert_non_null(text);
  memcpy(text, head, length + 1);
  for (size_t i = 0; i < times; ++i) {
    memcpy(text + length + i * step, piece, step);
  }
  strcpy(text + length + step * times, tail);
  return text;
}

static void
assert_limit(const char* const head, const char* const piece, const size_t times,
             const char* const tail, const SrStatus expected, const char* const words)
{
  char* const text = repeat_text(head, piece, times, tail);
  SrPhrase* phrase = NULL;
  SrError error = {0};
  const SrStatus status = sr_phrase_read_text(text, strlen(text), "name", NULL, &phrase, &error);
  if (status != expected || (words && !strstr(error.message, words))) {
    fail_msg("%zu times %s: %d, %s", times, piece, (int)status, error.message);
  }
  sr_phrase_del(phrase);
  free(text);
}

static void
limits(void** const state)
{
  (void)state;
  assert_limit(HEAD, "A", 4096, "\n", SR_OK, NULL);
  assert_limit(HEAD, "A", 4097, "\n", SR_TOO_LARGE, "4096 notes");
  assert_limit(HEAD, "ABcd|\n", 1024, ":|\n", SR_TOO_LARGE, "4096 notes");
  assert_limit(HEAD "A|", "z|", 4095, "\n", SR_OK, NULL);
  assert_limit(HEAD "A|", "z|", 4096, "\n", SR_TOO_LARGE, "4096 bars");
  assert_limit(HEAD "A|", "Z1024|", 4, "\n", SR_TOO_LARGE, "4096 bars");
  assert_limit("X:1\nP:A6\nK:C\nP:A\nA|", "z|", 4000, "\n", SR_TOO_LARGE, "16384 bars");
  assert_limit("X:1\nP:A256\nK:C\nP:A\n", "A", 16, "|\n", SR_OK, NULL);
  assert_limit("X:1\nP:A256\nK:C\nP:A\n", "A", 17, "|\n", SR_TOO_LARGE, "4096 notes");
  assert_limit(HEAD "A|", "||:A:", 4000, "|\n", SR_TOO_LARGE, "4096 notes");
  // Deep brackets in an order of parts are cut with the field and must not run out of stack
  assert_limit("X:1\nP:", "(", 100000, "\nK:C\nP:A\nA|\n", SR_BAD_SYNTAX, NULL);
  assert_limit(HEAD "A", ":", 29, "|\n", SR_OK, NULL);
  assert_limit(HEAD "A", ":", 30, "|\n", SR_TOO_LARGE, "30 times");
  assert_limit(HEAD "A", ":", 100000, "\n", SR_TOO_LARGE, "30 times");
  // Lengths that have no common measure
  assert_limit(HEAD, "A/1021A/1019A/1013A/1009A/997", 1, "|\n", SR_TOO_LARGE, "fraction");
  // A file that is too long
  const size_t size = (size_t)SR_PHRASE_MOST_BYTES + 1;
  char* const text = (char*)malloc(size);
  assert_non_null(text);
  memset(text, ' ', size);
  memcpy(text, HEAD "A|", sizeof(HEAD "A|") - 1);
  SrPhrase* phrase = NULL;
  SrError error = {0};
  assert_int_equal(sr_phrase_read_text(text, size, "name", NULL, &phrase, &error), SR_TOO_LARGE);
  assert_non_null(strstr(error.message, "16777216 bytes"));
  // One that is just not, in one line with its notes at the end
  memcpy(text + size - 5, "ABcd", 4);
  assert_int_equal(sr_phrase_read_text(text, size - 1, "name", NULL, &phrase, &error), SR_OK);
  assert_int_equal(sr_phrase_note_count(phrase), 5);
  sr_phrase_del(phrase);
  free(text);
}

static double
seconds_for(const size_t tunes)
{
  char* const text = repeat_text("", "X:1\nT:One of many\nM:6/8\nK:D\n|:FAd fdA|BGE D3:|\n\n",
                                 tunes, "X:9999\nT:The last\nM:6/8\nK:D\nFAd fdA|\n");
  const SrPhraseChoice choice = {.tune = 9999};
  SrPhrase* phrase = NULL;
  const clock_t start = clock();
  for (int i = 0; i < 10; ++i) {
    assert_int_equal(sr_phrase_read_text(text, strlen(text), "name", &choice, &phrase, NULL),
                     SR_OK);
    assert_string_equal(sr_phrase_title(phrase), "The last");
    sr_phrase_del(phrase);
  }
  const double seconds = (double)(clock() - start) / CLOCKS_PER_SEC / 10.0;
  free(text);
  return seconds;
}

/// The last of very many tunes is found; how the time grows is printed, not judged.
static void
many_tunes(void** const state)
{
  (void)state;
  const double few = seconds_for(1000);
  const double many = seconds_for(8000);
  printf("1000 tunes: %.2f ms; 8000 tunes: %.1f times that\n", 1e3 * few,
         few > 0.0 ? many / few : 0.0);

  char path[] = "/tmp/steadyreed-XXXXXX";
  const int descriptor = mkstemp(path);
  assert_true(descriptor >= 0);
  FILE* const file = fdopen(descriptor, "wb");
  assert_non_null(file);
  for (int i = 1; i <= 1000; ++i) {
    fprintf(file, "X:%d\nT:Tune %d\nK:D\nFAd|\n\n", i, i);
  }
  fclose(file);
  SrTuneList* list = NULL;
  assert_int_equal(sr_tune_list_read(path, &list, NULL), SR_OK);
  assert_int_equal(sr_tune_list_count(list), 1000);
  assert_string_equal(sr_tune_list_entry(list, 999)->title, "Tune 1000");
  assert_int_equal(sr_tune_list_entry(list, 999)->number, 1000);
  assert_int_equal(sr_tune_list_entry(list, 999)->line, 4996);
  sr_tune_list_del(list);
  sr_tune_list_del(NULL);
  remove(path);
}

int
main(const int argc, char** const argv)
{
  if (argc != 2) {
    return 2;
  }
  features_path = argv[1];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(places_of_errors), cmocka_unit_test(files_that_cannot_be_read),
      cmocka_unit_test(truncations),      cmocka_unit_test(mutations),
      cmocka_unit_test(limits),           cmocka_unit_test(many_tunes),
  };
  return cmocka_run_group_tests_name("bad text", tests, NULL, NULL);
}
