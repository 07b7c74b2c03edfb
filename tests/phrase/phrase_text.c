// SPDX-License-Identifier: GPL-3.0-or-later

#include "phrase_text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

SrPhrase*
sr_test_phrase(const char* const abc, const SrPhraseChoice* const choice)
{
  SrPhrase* phrase = NULL;
  SrError error = {0};
  if (sr_phrase_read_text(abc, strlen(abc), "test", choice, &phrase, &error) != SR_OK) {
    char text[1200];
    fail_msg("%s\nin\n%s", sr_error_print(&error, text, sizeof(text)), abc);
  }
  return phrase;
}

/// `name*a/b`, from whole notes to eighths.
static void
put(FILE* const stream, const char* const name, const int64_t numerator, const int64_t denominator)
{
  int64_t a = 8 * numerator;
  int64_t b = denominator;
  for (int64_t divisor = a < b ? a : b; divisor > 1; --divisor) {
    if (a % divisor == 0 && b % divisor == 0) {
      a /= divisor;
      b /= divisor;
    }
  }
  fprintf(stream, ftell(stream) ? " %s" : "%s", name);
  if (a != b) {
    fprintf(stream, "*%lld", (long long)a);
  }
  if (a != b && b != 1) {
    fprintf(stream, "/%lld", (long long)b);
  }
}

char*
sr_test_notes(const SrPhrase* const phrase)
{
  char* text = NULL;
  size_t size = 0;
  FILE* const stream = open_memstream(&text, &size);
  assert_non_null(stream);
  SrFraction time = {0, 1};
  for (size_t i = 0; i < sr_phrase_note_count(phrase); ++i) {
    const SrPhraseNote* const note = sr_phrase_note(phrase, i);
    const int64_t gap =
        note->start.numerator * time.denominator - time.numerator * note->start.denominator;
    if (gap != 0) {
      put(stream, "z", gap, time.denominator * note->start.denominator);
    }
    char name[16];
    snprintf(name, sizeof(name), "%d", note->midi);
    put(stream, name, note->length.numerator, note->length.denominator);
    time.numerator = note->start.numerator * note->length.denominator +
                     note->length.numerator * note->start.denominator;
    time.denominator = note->start.denominator * note->length.denominator;
  }
  fclose(stream);
  return text;
}

static SrPhrase*
read_tune(const char* const head, const char* const body)
{
  char abc[8192];
  // A head that names a key ends there, as heads do
  const bool has_key = strstr(head, "K:") != NULL;
  const char* const space = head[0] ? "\n" : "";
  snprintf(abc, sizeof(abc), "X:1\n%s%s%s%s\n", head, space, has_key ? "" : "K:C\n", body);
  return sr_test_phrase(abc, NULL);
}

char*
sr_test_tune_notes(const char* const head, const char* const body)
{
  SrPhrase* const phrase = read_tune(head, body);
  char* const text = sr_test_notes(phrase);
  sr_phrase_del(phrase);
  return text;
}

void
sr_test_assert_notes(const char* const head, const char* const body, const char* const expected)
{
  char* const text = sr_test_tune_notes(head, body);
  if (strcmp(text, expected) != 0) {
    fail_msg("%s\n%s\nhas   %s\nnot   %s", head, body, text, expected);
  }
  free(text);
}

void
sr_test_assert_same(const char* const head, const char* const body, const char* const other_body)
{
  char* const text = sr_test_tune_notes(head, other_body);
  sr_test_assert_notes(head, body, text);
  free(text);
}
