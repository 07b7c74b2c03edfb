// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_outline.c
   What can be chosen of a tune: each part and range that the outline names is read by
   sr_phrase_read_file(), and the next beyond is not.
*/

#include <steadyreed/phrase.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static const char HEAD[] = "X:1\nT:The Lamp\nM:6/8\nL:1/8\nK:D\n";

/// Write a tune into a file of its own, and read its outline.
static void
outline_of(const char* const body, char path[32], SrTuneOutline* const outline)
{
  strcpy(path, "/tmp/sr-outline-XXXXXX");
  const int file = mkstemp(path);
  assert_true(file >= 0);
  assert_int_equal(write(file, HEAD, strlen(HEAD)), (ssize_t)strlen(HEAD));
  assert_int_equal(write(file, body, strlen(body)), (ssize_t)strlen(body));
  close(file);
  SrError error = {0};
  assert_int_equal(sr_tune_outline_read(path, NULL, outline, &error), SR_OK);
}

static SrStatus
read_choice(const char* const path, const SrPhraseChoice choice)
{
  SrPhrase* phrase = NULL;
  const SrStatus status = sr_phrase_read_file(path, &choice, &phrase, NULL);
  sr_phrase_del(phrase);
  return status;
}

/// All that it names can be read, and nothing beyond.
static void
assert_true_to(const char* const path, const SrTuneOutline* const outline)
{
  assert_int_equal(read_choice(path, (SrPhraseChoice){.first_bar = outline->first_bar,
                                                      .last_bar = outline->last_bar}),
                   SR_OK);
  assert_int_equal(
      read_choice(path, (SrPhraseChoice){.first_bar = 1, .last_bar = outline->last_bar + 1}),
      SR_NOT_FOUND);
  for (size_t i = 0; i < outline->part_count; ++i) {
    const SrTunePart* const part = &outline->parts[i];
    assert_int_equal(read_choice(path, (SrPhraseChoice){.part = part->letter,
                                                        .first_bar = part->first_bar,
                                                        .last_bar = part->last_bar}),
                     SR_OK);
  }
  const char beyond = (char)('A' + (int)outline->part_count);
  assert_int_equal(read_choice(path, (SrPhraseChoice){.part = beyond}), SR_NOT_FOUND);
}

static void
sections(void** const state)
{
  (void)state;
  char path[32];
  SrTuneOutline outline;
  outline_of("|:D|DFA dAF|DFA d2:|\n|:e|efe dcB|AGF E2|DFA d2:|\n", path, &outline);
  assert_int_equal(outline.first_bar, 0);
  assert_int_equal(outline.last_bar, 5);
  assert_int_equal(outline.part_count, 2);
  assert_int_equal(outline.parts[0].letter, 'A');
  assert_int_equal(outline.parts[0].first_bar, 1);
  assert_int_equal(outline.parts[0].last_bar, 2);
  assert_int_equal(outline.parts[1].letter, 'B');
  assert_int_equal(outline.parts[1].first_bar, 3);
  assert_int_equal(outline.parts[1].last_bar, 5);
  assert_true_to(path, &outline);
  unlink(path);
}

static void
labels(void** const state)
{
  (void)state;
  char path[32];
  SrTuneOutline outline;
  outline_of("P:A\nDFA dAF|DFA d2A|\nP:B\nefe dcB|\n", path, &outline);
  assert_int_equal(outline.first_bar, 1);
  assert_int_equal(outline.last_bar, 3);
  assert_int_equal(outline.part_count, 2);
  assert_int_equal(outline.parts[1].first_bar, 3);
  assert_int_equal(outline.parts[1].last_bar, 3);
  assert_true_to(path, &outline);
  unlink(path);
}

/// Too long with its repeats to be practised whole, but not to be chosen from.
static void
too_long_with_repeats(void** const state)
{
  (void)state;
  static char body[64 * 1024];
  char path[32];
  SrTuneOutline outline;
  size_t at = 0;
  for (int bar = 0; bar < 600; ++bar) {
    at += (size_t)snprintf(body + at, sizeof(body) - at, "|:DFA dAF:|\n");
  }
  outline_of(body, path, &outline);
  assert_int_equal(read_choice(path, (SrPhraseChoice){0}), SR_TOO_LARGE);
  assert_int_equal(outline.first_bar, 1);
  assert_int_equal(outline.last_bar, 600);
  assert_int_equal(read_choice(path, (SrPhraseChoice){.first_bar = 599, .last_bar = 600}), SR_OK);
  unlink(path);
}

static void
refused(void** const state)
{
  (void)state;
  SrTuneOutline outline = {.last_bar = 7};
  SrError error = {0};
  assert_int_equal(sr_tune_outline_read("/tmp/there is no such file.abc", NULL, &outline, &error),
                   SR_NOT_FOUND);
  assert_int_equal(outline.last_bar, 0);
  assert_string_not_equal(error.message, "");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(sections), cmocka_unit_test(labels),
                                     cmocka_unit_test(too_long_with_repeats),
                                     cmocka_unit_test(refused)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
