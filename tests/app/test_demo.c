// SPDX-License-Identifier: GPL-3.0-or-later

// `steadyreed demo`. Arguments: the program, the shipped drill and, if given,
// "shipped": then the shipped take is judged as well.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "made_take.h"
#include "run_program.h"

#include <sndfile.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* program;
static const char* drill_path;

static char*
read_text(const char* const path)
{
  FILE* const file = fopen(path, "rb");
  assert_non_null(file);
  char* const text = calloc(1, 65536);
  assert_non_null(text);
  assert_true(fread(text, 1, 65535, file) > 0);
  fclose(file);
  return text;
}

static void
check_screen(const ProgramRun* const run)
{
  if (run->status != 0) {
    print_error("%s", run->trouble);
  }
  assert_int_equal(run->status, 0);
  assert_string_equal(run->trouble, "");
  static const char* const words[] = {
      "{c}",    "steadyreed assess ", "of 22 notes",      "cuts", "Scores",
      "Advice", "What to try next",   "steadyreed sound "};
  for (size_t i = 0; i < sizeof(words) / sizeof(words[0]); ++i) {
    assert_non_null(strstr(run->output, words[i]));
  }
}

/// STEADYREED_DATA names another folder; an empty one is reported.
static void
data_folder_can_be_named(void** const state)
{
  (void)state;
  char* const folder = folder_make();
  char* const exercises = folder_path(folder, "exercises");
  char* const takes = folder_path(folder, "takes");
  char* const drill = folder_path(exercises, "three-as.abc");
  char* const flac = folder_path(takes, "demo.flac");
  setenv("STEADYREED_DATA", folder, 1);

  const char* const arguments[] = {program, "demo", NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "exercises/three-as.abc"));
  assert_non_null(strstr(run.trouble, "STEADYREED_DATA"));
  run_clear(&run);

  assert_int_equal(mkdir(exercises, 0700), 0);
  assert_int_equal(mkdir(takes, 0700), 0);
  char* const text = read_text(drill_path);
  file_write(drill, text, strlen(text));
  MadeTake take = made_take(text, 44100.0, 1);
  made_take_write(&take, flac, SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 1);
  run = run_program(arguments);
  check_screen(&run);
  assert_non_null(strstr(run.output, "takes/demo.flac"));
  run_clear(&run);

  unsetenv("STEADYREED_DATA");
  made_take_clear(&take);
  folder_remove(exercises);
  folder_remove(takes);
  folder_remove(folder);
  free(text);
  free(flac);
  free(drill);
  free(takes);
  free(exercises);
  free(folder);
}

/// The shipped take is found from the build folder, and has a fault to show.
static void
shipped_take_is_judged(void** const state)
{
  (void)state;
  unsetenv("STEADYREED_DATA");
  const char* const arguments[] = {program, "demo", NULL};
  ProgramRun run = run_program(arguments);
  check_screen(&run);
  assert_non_null(strstr(run.output, "  bar "));
  run_clear(&run);
}

int
main(const int count, char** const arguments)
{
  if (count < 3) {
    fputs("usage: test_demo PROGRAM DRILL [shipped]\n", stderr);
    return 1;
  }
  program = arguments[1];
  drill_path = arguments[2];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(data_folder_can_be_named),
  };
  const struct CMUnitTest shipped[] = {
      cmocka_unit_test(shipped_take_is_judged),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  return count > 3 ? failed + cmocka_run_group_tests(shipped, NULL, NULL) : failed;
}
