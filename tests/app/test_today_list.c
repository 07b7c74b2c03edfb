// SPDX-License-Identifier: GPL-3.0-or-later

// `steadyreed today --list`: a first day, and a player of our own invention with a month behind;
// on terminals of 40 and 80 columns.
//
// usage: test_today_list STEADYREED SOURCE_TREE

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_history.h"
#include "run_terminal.h"

#include <locale.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char* program;
static const char* source_tree;
static char* folder;
static char* jig;
static char* lost;

/// Three bars of four notes, with two cuts each.
static const char jig_text[] = "X:1\nT:The Gate in the Rain\nM:4/4\nL:1/4\nQ:1/4=100\nK:D\n"
                               "A{c}AB{d}B|G{B}GF{A}F|E{G}ED{F}D|]\n";

/// What it says with two options. The status must be that, and what goes to standard error counts.
static char*
list(const int status, const char* const one, const char* const two)
{
  const char* const arguments[] = {program, "today", "--list", one, two, NULL};
  ProgramRun run = run_program(arguments);
  char* all = NULL;
  assert_true(asprintf(&all, "%s%s", run.output, run.trouble) >= 0);
  if (run.status != status) {
    fail_msg("status %d:\n%s", run.status, all);
  }
  run_clear(&run);
  return all;
}

static void
assert_has(const char* const text, const char* const words)
{
  if (!strstr(text, words)) {
    fail_msg("no \"%s\" in:\n%s", words, text);
  }
}

static void
check(const int status, const char* const one, const char* const two, const char* const words)
{
  char* const said = list(status, one, two);
  assert_has(said, words);
  free(said);
}

/// That two lists are the same but for their first line, and for the drill that is done in one.
static void
assert_same_choice(const char* const before, const char* const after)
{
  static const char done[] = "              done today, 4 rounds\n";
  char* const rest = strdup(strchr(after, '\n'));
  char* const at = strstr(rest, done);
  assert_non_null(at);
  memmove(at, at + strlen(done), strlen(at + strlen(done)) + 1);
  assert_string_equal(strchr(before, '\n'), rest);
  free(rest);
}

static SrPhrase*
read_phrase(const char* const path)
{
  SrPhrase* phrase = NULL;
  assert_int_equal(sr_phrase_read_file(path, NULL, &phrase, NULL), SR_OK);
  return phrase;
}

/// Four rounds of a phrase on a day.
static void
play(const char* const path, const int days_ago, const unsigned joined)
{
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  SrPhrase* const phrase = read_phrase(path);
  const int today = sr_moment_day(sr_moment_now());
  for (int i = 0; i < 4; ++i) {
    const MadeRound round = {.bpm = 90.0, .joined = joined};
    made_round_add_of(history, phrase, &round, today - days_ago, i, path);
  }
  sr_phrase_del(phrase);
  sr_history_close(history);
}

static char*
exercise(const char* const name)
{
  char* path = NULL;
  assert_true(asprintf(&path, "%s/exercises/%s.abc", source_tree, name) >= 0);
  return path;
}

static void
test_first_day(void** const state)
{
  (void)state;
  char* const said = list(0, NULL, NULL);
  assert_has(said, "For today, 14 minutes with the pauses:");
  assert_has(said, "  1    2 min  Six in a Row: ");
  assert_has(said, "  2    3 min  First Cuts: ");
  assert_has(said, "  3    6 min  The Lamp in the Porch, bars 1 to 2: tempo ladder");
  assert_has(said, "  4    2 min  First Sip: ");
  assert_has(said, "never played yet");
  free(said);
  check(2, "--only", "5", "there is no item 5 today");
}

static void
test_a_past(void** const state)
{
  (void)state;
  char* const cuts = exercise("first-cuts");
  file_put(jig, jig_text);
  file_put(lost, "X:1\nT:Lost\nM:4/4\nL:1/4\nK:C\nA{c}AB{d}B|G{B}GF{A}F|E{G}ED{F}D|]\n");
  play(lost, 5, 6);
  unlink(lost);
  play(jig, 3, 2); // the cuts of bar 1
  play(cuts, 3, 0);
  char* const said = list(0, NULL, NULL);
  assert_has(said, "left out, since it is not there any more");
  assert_has(said, "lost.abc");
  assert_null(strstr(said, "Lost,"));
  // Bars 1 and 2 had two faults a round, bar 3 none
  assert_has(said, "  3    3 min  The Gate in the Rain, bars 1 to 2: tempo ladder\n"
                   "              2.0 faults a round, last played 3 days ago\n");
  assert_has(said, "  5    3 min  The Gate in the Rain, bar 3: tempo ladder\n"
                   "              last played 3 days ago, and due every day\n");
  // One clean day opened the next drill too, but this one is more due: 3 days of 2
  assert_has(said, "  2    3 min  First Cuts: cuts on repeated notes\n"
                   "              last played 3 days ago, and due after 2\n");
  // Part of it
  check(0, "--only", "5", "For today, 3.5 minutes with the pauses:\n  5 ");
  char* const less = list(0, "--without", "5");
  assert_null(strstr(less, "bar 3:"));
  free(less);
  // Practice of today changes nothing of what is chosen; the drill is done, for whose second time
  // one has to ask. The whole jig is not these bars of it
  play(jig, 0, 6);
  play(cuts, 0, 3);
  char* const again = list(0, NULL, NULL);
  assert_has(again, "For today, 11 minutes are left, with the pauses:");
  assert_same_choice(said, again);
  free(again);
  check(0, "--only", "2", "For today, 3.5 minutes with the pauses:\n  2 ");
  free(said);
  free(cuts);
}

static void
test_widths(void** const state)
{
  (void)state;
  static const unsigned short columns[] = {40, 80};
  for (size_t i = 0; i < 2; ++i) {
    const char* const arguments[] = {program, "today", "--list", NULL};
    ProgramRun run = run_on_terminal(arguments, columns[i]);
    assert_int_equal(run.status, 0);
    if (widest_line(run.output) > columns[i]) {
      fail_msg("over %d columns:\n%s", columns[i], run.output);
    }
    run_clear(&run);
  }
}

/// Whether it tells to rest, before it looks for a microphone that is not there.
static bool
tells_to_rest(void)
{
  const char* const arguments[] = {program, "today", "--only", "1", "--input", "no such microphone",
                                   NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 3);
  text_squeeze(run.output);
  assert_has(run.output, "Done: 0 of 1, 0 rounds, ");
  const bool rest = strstr(run.output, "You have played for an hour today: rest now.");
  assert_true(!rest || strstr(run.output, "licensed professional"));
  run_clear(&run);
  return rest;
}

/// After an hour in a day, all phrases together, it tells to rest. A round of twelve pulses at ten
/// a minute is 72 s long, and each ends a minute after the one before: 40 of them end after 41 min.
static void
test_rest(void** const state)
{
  (void)state;
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  SrPhrase* const phrase = made_phrase("Slow", 0);
  const int today = sr_moment_day(sr_moment_now());
  const MadeRound round = {.bpm = 10.0};
  for (int i = 0; i < 40; ++i) {
    made_round_add(history, phrase, &round, today, i, NULL);
    made_round_add(history, phrase, &round, today - 1, i, NULL);
  }
  assert_false(tells_to_rest());
  for (int i = 40; i < 60; ++i) {
    made_round_add(history, phrase, &round, today, i, NULL);
  }
  assert_true(tells_to_rest());
  sr_phrase_del(phrase);
  sr_history_close(history);
}

static int
prepare(void** const state)
{
  (void)state;
  // Days are those of the wall, and the made rounds are at noon UTC
  setenv("TZ", "UTC", 1);
  // Of the program that it starts: what ALSA's plugins keep until the end is not ours
  setenv("ASAN_OPTIONS", "detect_leaks=0", 1);
  folder = folder_make();
  jig = folder_path(folder, "jig.abc");
  lost = folder_path(folder, "lost.abc");
  setenv("XDG_DATA_HOME", folder, 1);
  setenv("XDG_CONFIG_HOME", folder, 1);
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  const char* const arguments[] = {"/bin/rm", "-r", folder, NULL};
  ProgramRun run = run_program(arguments);
  run_clear(&run);
  free(jig);
  free(lost);
  free(folder);
  return 0;
}

int
main(const int argc, char** const argv)
{
  if (argc != 3) {
    fputs("usage: test_today_list STEADYREED SOURCE_TREE\n", stderr);
    return 2;
  }
  program = argv[1];
  source_tree = argv[2];
  setlocale(LC_CTYPE, "C.UTF-8");
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_first_day),
      cmocka_unit_test(test_a_past),
      cmocka_unit_test(test_widths),
      cmocka_unit_test(test_rest),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
