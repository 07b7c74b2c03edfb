// SPDX-License-Identifier: GPL-3.0-or-later

// `steadyreed progress`, over an invented month before a session: a jig whose cuts get better, a
// reel that does not, and a drill of two days.
//
// usage: test_progress STEADYREED

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "invented_month.h"
#include "run_terminal.h"

#include <steadyreed/kept_takes.h>

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* program;
static char* data;
static char* folder;
static char* takes;
static char* path;
static char* config;

/// Run the program with up to three arguments behind `progress`.
static ProgramRun
run(const char* const one, const char* const two, const char* const three)
{
  const char* const arguments[] = {program, "progress", one, two, three, NULL};
  return run_program(arguments);
}

static void
assert_says(const ProgramRun* const said, const int status, const char* const words)
{
  if (said->status != status || (!strstr(said->output, words) && !strstr(said->trouble, words))) {
    fail_msg("status %d, not %d, or no \"%s\" in:\n%s%s", said->status, status, words, said->output,
             said->trouble);
  }
}

static void
check(const char* const one, const char* const two, const int status, const char* const words)
{
  ProgramRun said = run(one, two, NULL);
  text_squeeze(said.output);
  assert_says(&said, status, words);
  run_clear(&said);
}

static int
prepare(void** const state)
{
  (void)state;
  // Days are those of the wall, and the made rounds are at noon UTC
  setenv("TZ", "UTC", 1);
  config = config_begin();
  data = folder_make();
  folder = folder_path(data, "steadyreed");
  takes = folder_path(folder, "takes");
  path = folder_path(folder, "history.sqlite");
  return setenv("XDG_DATA_HOME", data, 1);
}

static int
clean_up(void** const state)
{
  (void)state;
  config_end(config);
  folder_remove(takes);
  folder_remove(folder);
  folder_remove(data);
  free(path);
  free(takes);
  free(folder);
  free(data);
  return 0;
}

static void
without_a_history_nothing_is_made(void** const state)
{
  (void)state;
  check(NULL, NULL, 0, "Nothing has been practised yet");
  check("--takes", NULL, 0, "Nothing has been practised yet");
  check("--mark", "any", 1, "no history of practice yet");
  struct stat status;
  assert_int_equal(stat(folder, &status), -1);
  check("--limit", "2G", 0, "Takes may have 2.0 GB");
}

static void
days_and_what_got_better(void** const state)
{
  (void)state;
  invented_month(takes);
  static const unsigned short widths[] = {0, 80, 40};
  for (size_t w = 0; w < 3; ++w) {
    const char* const arguments[] = {program, "progress", NULL};
    ProgramRun said = widths[w] ? run_on_terminal(arguments, widths[w]) : run_program(arguments);
    assert_int_equal(said.status, 0);
    if (getenv("STEADYREED_SHOW")) {
      fputs(said.output, stderr);
    }
    // A title cannot steer the terminal
    assert_null(strchr(said.output, '\033'));
    assert_true(!widths[w] || widest_line(said.output) <= widths[w]);
    assert_null(strstr(said.output, "Long Ago"));
    text_squeeze(said.output);
    assert_non_null(strstr(said.output, "The Lamp in the Porch, bars 1 to 3"));
    assert_non_null(strstr(said.output, "better in "));
    // Worked out by hand: of the first six days 43.06, of the last six 90.28
    assert_non_null(strstr(said.output, "clean cuts (from 43 to 90 percent)"));
    assert_non_null(strstr(said.output, "Too few days to say what got better: 2 in the last 30"));
    // Of the reel nothing is praised
    const char* const reel = strstr(said.output, "Reel");
    assert_non_null(reel);
    const char* const end =
        strstr(reel, "no change beyond chance in the tempo of clean rounds, clean cuts "
                     "and spread.");
    assert_non_null(end);
    const char* const better = strstr(reel, "better in ");
    assert_true(!better || better > end);
    run_clear(&said);
  }
  check("--all", NULL, 0, "Long Ago");
  check("LAMP", NULL, 0, "The Lamp in the Porch");
  check("no such title", NULL, 0, "was practised");
  ProgramRun said = run("lamp", "--days", "1");
  assert_int_equal(said.status, 0);
  assert_null(strstr(said.output, "First Cuts"));
  run_clear(&said);
}

static void
takes_are_listed_marked_and_limited(void** const state)
{
  (void)state;
  for (unsigned short columns = 40; columns <= 80; columns += 40) {
    const char* const arguments[] = {program, "progress", "--takes", NULL};
    ProgramRun said = run_on_terminal(arguments, columns);
    assert_true(widest_line(said.output) <= columns);
    text_squeeze(said.output);
    assert_says(&said, 0, "20 takes, 2.0 MB of 2.0 GB");
    assert_says(&said, 0, "4 rounds, 100 kB, best, latest");
    run_clear(&said);
  }
  check("--mark", "day-03", 0, "kept for good");
  check("--takes", NULL, 0, "100 kB, marked");
  check("--unmark", "day-03.flac", 0, "may be removed");
  check("--mark", "day-99", 1, "knows no take");
  // What is chosen or forgotten elsewhere leaves the limit alone, and the other way round
  char* const phrase = folder_path(data, "plain.abc");
  file_put(phrase, "X:1\nM:6/8\nL:1/8\nK:D\nA3B3|\n");
  const char* const choose[] = {program, "plan", phrase, "--instrument", "20-g-d", NULL};
  const char* const forget[] = {program, "setup", "--forget", NULL};
  const char* const* const others[] = {choose, forget};
  for (size_t i = 0; i < 2; ++i) {
    ProgramRun said = run_program(others[i]);
    assert_int_equal(said.status, 0);
    run_clear(&said);
    check("--takes", NULL, 0, "2.0 MB of 2.0 GB");
  }
  unlink(phrase);
  free(phrase);
  // A number without its unit, or one of kilobytes, would cost all takes
  static const char* const slips[] = {"1", "500", "500k", "99M", "2 bytes"};
  for (size_t i = 0; i < sizeof(slips) / sizeof(slips[0]); ++i) {
    check("--limit", slips[i], 2, "a size with its unit, such as 2G or 500M");
  }
  check("--takes", NULL, 0, "2.0 MB of 2.0 GB");
  check("--limit", "10 GB", 0, "Takes may have 10 GB");
}

/// Make a take of the month as large as an hour of practice, but for what it has on the disk.
static void
grow(const char* const day)
{
  SrHistory* history = NULL;
  char* const take = folder_path(takes, day);
  assert_int_equal(truncate(take, 60000000), 0);
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_LOOK, &history, NULL), SR_OK);
  assert_int_equal(sr_history_take_saved(history, take, NULL), SR_OK);
  sr_history_close(history);
  free(take);
}

static void
what_would_go_is_said_first(void** const state)
{
  (void)state;
  grow("day-02.flac");
  grow("day-03.flac");
  grow("day-04.flac");
  // 180 MB and 17 of 0.1 MB: the oldest that may go, and then two of 60 MB
  check("--limit", "100M", 2, "would be removed after the next practice, for good. Nothing was");
  check("--limit", "100M", 2, "Give --let-go as well");
  check("--takes", NULL, 0, "182 MB of 10 GB");
  check("--let-go", NULL, 2, "goes with --limit");
  check("--limit", "200M", 0, "Takes may have 200 MB; they have 182 MB now.");
  ProgramRun said = run("--limit", "100M", "--let-go");
  text_squeeze(said.output);
  assert_says(&said, 0, "120 MB, will be removed after the next practice");
  run_clear(&said);
  check("--takes", NULL, 0, "182 MB of 100 MB");
}

static void
the_history_goes_out_and_comes_in(void** const state)
{
  (void)state;
  static const char* const names[] = {"out.csv", "out.json"};
  for (size_t n = 0; n < 2; ++n) {
    char* const out = folder_path(data, names[n]);
    check("--export", out, 0, "129 rounds written");
    check("--import", out, 0, "0 rounds added, 129 known already");
    char* const other = folder_make();
    setenv("XDG_DATA_HOME", other, 1);
    check("--import", out, 0, "129 rounds added, 0 known already");
    check(NULL, NULL, 0, "clean cuts (from 43 to 90 percent)");
    setenv("XDG_DATA_HOME", data, 1);
    char* const inner = folder_path(other, "steadyreed");
    folder_remove(inner);
    folder_remove(other);
    free(inner);
    free(other);
    file_put(out, "nothing of the kind\n");
    check("--import", out, 1, "Nothing was added");
    unlink(out);
    free(out);
  }
}

static void
wrong_usage(void** const state)
{
  (void)state;
  check("--days", "31", 2, "from 1 to 30");
  check("--limit", "much", 2, "a size with its unit, such as 2G");
  check("--limit", "0", 2, "a size with its unit, such as 2G");
  check("--limit", "0x10", 2, "a size with its unit, such as 2G");
  check("--takes", "lamp", 2, "go with no other option");
  check("--takes", "--takes", 2, "alone");
  check("lamp", "porch", 2, "quotes");
  check("--export", "out.txt", 2, ".csv or .json");
  check("--import", "out.txt", 2, ".csv or .json");
  check("--import", "/none/such.csv", 1, "Nothing was added");
  check("--nonsense", NULL, 2, "--nonsense");
}

static void
a_damaged_history_is_told_and_left(void** const state)
{
  (void)state;
  file_put(path, "This was a history, long enough to be no empty file, and is none any more.");
  check(NULL, NULL, 1, "damaged");
  check("--takes", NULL, 1, "damaged");
  struct stat status;
  assert_int_equal(stat(path, &status), 0);
  assert_true(status.st_size > 0);
}

int
main(const int argc, char** const argv)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(without_a_history_nothing_is_made),
      cmocka_unit_test(days_and_what_got_better),
      cmocka_unit_test(takes_are_listed_marked_and_limited),
      cmocka_unit_test(what_would_go_is_said_first),
      cmocka_unit_test(the_history_goes_out_and_comes_in),
      cmocka_unit_test(wrong_usage),
      cmocka_unit_test(a_damaged_history_is_told_and_left),
  };
  if (argc < 2) {
    return 2;
  }
  program = argv[1];
  setlocale(LC_CTYPE, "C.UTF-8");
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
