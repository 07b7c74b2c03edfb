// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_settings.c
   What `setup` kept, and styles, as damage and strangers may leave them.

   usage: test_settings STEADYREED PHRASE.abc STYLE.json
*/

#include "run_program.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define HEAD "{\"format\": \"steadyreed-setup\", \"version\": 1"
#define STYLE_HEAD "{\"format\": \"steadyreed-style\", \"version\": 2"

static const char* program;
static const char* phrase;
static const char* shipped_style;
static char* home;
static char* folder;
static char* setup;

static int
prepare(void** const state)
{
  (void)state;
  home = folder_make();
  folder = folder_path(home, "steadyreed");
  setup = folder_path(folder, "setup.json");
  setenv("XDG_CONFIG_HOME", home, 1);
  return mkdir(folder, 0700);
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  folder_remove(home);
  free(setup);
  free(folder);
  free(home);
  return 0;
}

static void
put(const char* const path, const char* const text, const size_t size)
{
  FILE* const file = fopen(path, "w");
  assert_non_null(file);
  assert_int_equal(fwrite(text, 1, size, file), size);
  assert_int_equal(fclose(file), 0);
}

static ProgramRun
plan(void)
{
  const char* const arguments[] = {program, "plan", phrase, NULL};
  return run_program(arguments);
}

/// The plan without any setup; the same must come with a damaged one.
static void
assert_planned_without(const ProgramRun* const run)
{
  ProgramRun plain = plan();
  assert_int_equal(plain.status, 0);
  assert_string_equal(plain.trouble, "");
  assert_int_equal(run->status, 0);
  assert_string_equal(run->output, plain.output);
  run_clear(&plain);
}

static void
a_damaged_setup_is_named_and_set_aside(void** const state)
{
  (void)state;
  static const struct {
    const char* text;
    const char* named; // key, or line
  } damaged[] = {{"", "setup.json"},
                 {"{\n\"format\":\n", "setup.json:3"},
                 {"[]", "format"},
                 {"{\"format\": \"steadyreed-setup\", \"version\": 2}", "version"},
                 {HEAD ", \"bellows_at_a4\": -1}", "bellows_at_a4"},
                 {HEAD ", \"bellows_at_a4\": 1e300}", "bellows_at_a4"},
                 {HEAD ", \"bellows_power\": \"2\"}", "bellows_power"},
                 {HEAD ", \"round_trip_s\": -0.5}", "round_trip_s"},
                 {HEAD ", \"output\": 1}", "output"},
                 {HEAD ", \"profile\": []}", "profile"}};
  for (size_t i = 0; i < sizeof(damaged) / sizeof(damaged[0]); ++i) {
    put(setup, damaged[i].text, strlen(damaged[i].text));
    ProgramRun run = plan();
    assert_non_null(strstr(run.trouble, setup));
    assert_non_null(strstr(run.trouble, damaged[i].named));
    assert_null(strstr(run.trouble, phrase));
    assert_int_equal(access(setup, F_OK), -1);
    assert_planned_without(&run);
    run_clear(&run);
    char aside[64];
    snprintf(aside, sizeof(aside), "setup.json.damaged-%zu", i + 1);
    char* const path = folder_path(folder, aside);
    struct stat kept;
    assert_int_equal(stat(path, &kept), 0);
    assert_int_equal(kept.st_size, strlen(damaged[i].text));
    free(path);
  }
}

static void
a_pipe_and_a_huge_file_do_not_hang(void** const state)
{
  (void)state;
  assert_int_equal(mkfifo(setup, 0600), 0);
  ProgramRun run = plan();
  assert_non_null(strstr(run.trouble, setup));
  assert_planned_without(&run);
  run_clear(&run);
  put(setup, "{", 1);
  assert_int_equal(truncate(setup, (off_t)1 << 32), 0); // a hole of 4 GiB
  run = plan();
  assert_non_null(strstr(run.trouble, setup));
  assert_planned_without(&run);
  run_clear(&run);
}

static void
a_good_setup_counts(void** const state)
{
  (void)state;
  static const char good[] = HEAD ", \"bellows_at_a4\": 14, \"bellows_power\": 0.5}";
  put(setup, good, strlen(good));
  ProgramRun run = plan();
  assert_int_equal(run.status, 0);
  assert_string_equal(run.trouble, "");
  assert_int_equal(unlink(setup), 0);
  ProgramRun plain = plan();
  assert_string_not_equal(run.output, plain.output);
  run_clear(&plain);
  run_clear(&run);
}

static void
styles_are_read_with_care(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "style.json");
  const char* const arguments[] = {program, "plan", phrase, "--style", path, NULL};
  static char large[70000];
  memset(large, ' ', sizeof(large) - 1);
  memcpy(large, "{}", 2);
  const struct {
    const char* text;
    size_t size;
    const char* words;
  } wrong[] = {
      {STYLE_HEAD ", \"name\": 3}", 0, "name"},
      {STYLE_HEAD ", \"name\": \"\"}", 0, "name"},
      {STYLE_HEAD ", \"name\": \"a name that is much too long for any style\"}", 0, "name"},
      {STYLE_HEAD ", \"leap\": 3}", 0, "leap"},
      {STYLE_HEAD ", \"jump\": 1.5}", 0, "jump"},
      {STYLE_HEAD ", \"jump\": 1, \"jump\": 2}", 0, "twice"},
      {STYLE_HEAD ", \"name\": \"\xFF\"}", 0, "UTF-8"},
      {"\0", 1, "style.json"},
      {large, sizeof(large) - 1, "at most "},
  };
  for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); ++i) {
    put(path, wrong[i].text, wrong[i].size ? wrong[i].size : strlen(wrong[i].text));
    ProgramRun run = run_program(arguments);
    assert_int_equal(run.status, 1);
    assert_string_equal(run.output, "");
    assert_non_null(strstr(run.trouble, path));
    assert_non_null(strstr(run.trouble, wrong[i].words));
    run_clear(&run);
  }
  const char* const good[] = {program, "plan", phrase, "--style", shipped_style, NULL};
  ProgramRun run = run_program(good);
  assert_int_equal(run.status, 0);
  run_clear(&run);
  free(path);
}

int
main(const int argc, char** const argv)
{
  if (argc != 4) {
    return 2;
  }
  program = argv[1];
  phrase = argv[2];
  shipped_style = argv[3];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(a_damaged_setup_is_named_and_set_aside, prepare, clean_up),
      cmocka_unit_test_setup_teardown(a_pipe_and_a_huge_file_do_not_hang, prepare, clean_up),
      cmocka_unit_test_setup_teardown(a_good_setup_counts, prepare, clean_up),
      cmocka_unit_test_setup_teardown(styles_are_read_with_care, prepare, clean_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
