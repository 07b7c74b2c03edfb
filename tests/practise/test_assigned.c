// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_assigned.c
   `practise FILE` does as the file asks, and as the options say where they say something: what it
   reports when it is ready, its notes, and the click that is or is not there.

   usage: test_assigned STEADYREED MAKE_TAKE SOURCE_ROOT
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"
#include "sitting.h"

#include <jansson.h>

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// What it reported when it was ready.
typedef struct {
  double bpm;
  bool sounds;
  char* notes; ///< On standard error
} Ready;

/// Practise a phrase until it is ready.
static Ready
practise(Sitting* const sitting, const char* const phrase, const char* const* const options)
{
  Ready ready = {.bpm = 0.0};
  sitting_practise(sitting, phrase, options);
  sitting_wait_for(sitting, "\"ready\"", 20.0);
  char* const said = sitting_said(sitting);
  // Behind what a tempo ladder says
  const char* const line = strstr(said, "{\"event\":\"ready\"");
  assert_non_null(line);
  json_t* const event = json_loads(line, JSON_DISABLE_EOF_CHECK, NULL);
  assert_non_null(event);
  assert_string_equal(json_string_value(json_object_get(event, "event")), "ready");
  ready.bpm = json_number_value(json_object_get(event, "bpm"));
  ready.sounds = json_is_string(json_object_get(event, "output"));
  json_decref(event);
  free(said);
  ready.notes = sitting_trouble(sitting);
  text_squeeze(ready.notes);
  kill(sitting->program, SIGINT);
  (void)sitting_end(sitting, 20.0);
  return ready;
}

/// Write a drill for pupils, and practise it with these options.
static Ready
after_writing(Sitting* const sitting, const char* const* const written,
              const char* const* const options)
{
  char* const phrase = test_phrase("session-jig");
  char* const drill = sitting_path(sitting, "drill.abc");
  const char* arguments[32] = {test_program, "practise", phrase, "--write-drill", drill, "--force"};
  size_t count = 6;
  for (size_t i = 0; written[i]; ++i) {
    arguments[count++] = written[i];
  }
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, drill));
  run_clear(&run);
  const Ready ready = practise(sitting, drill, options);
  free(phrase);
  free(drill);
  return ready;
}

static void
as_the_file_asks(void** const state)
{
  (void)state;
  Sitting sitting = {.folder = NULL};
  sitting_begin(&sitting, 44100);
  Ready ready =
      after_writing(&sitting,
                    (const char* const[]){"--bars", "1-2", "--tempo", "77", "--silent-bars", "4:2",
                                          "--click-on", "bars", "--ladder", NULL},
                    (const char* const[]){"--json", "--no-keep", NULL});
  // The ladder begins at 80 %
  assert_true(fabs(ready.bpm - 62.0) < 1e-9);
  assert_true(ready.sounds);
  assert_non_null(strstr(ready.notes, "the file asks for bars 1 to 2, a click on each bar, 4 bars "
                                      "with the click and 2 without, up the tempo ladder."));
  free(ready.notes);
  sitting_clear(&sitting);
}

static void
without_a_click(void** const state)
{
  (void)state;
  Sitting sitting = {.folder = NULL};
  sitting_begin(&sitting, 44100);
  const char* const written[] = {"--part", "B", "--silent", NULL};
  Ready ready =
      after_writing(&sitting, written, (const char* const[]){"--json", "--no-keep", NULL});
  assert_false(ready.sounds);
  assert_non_null(strstr(ready.notes, "the file asks for part B, no click."));
  free(ready.notes);
  // A click that is named, or what needs one, wins
  static const char* const wins[][2] = {
      {"--click-on", "pulses"}, {"--silent-bars", "none"}, {"--count-in", "each"}};
  for (size_t i = 0; i < 3; ++i) {
    ready =
        after_writing(&sitting, written,
                      (const char* const[]){"--json", "--no-keep", wins[i][0], wins[i][1], NULL});
    assert_true(ready.sounds);
    free(ready.notes);
  }
  sitting_clear(&sitting);
}

static void
options_win(void** const state)
{
  (void)state;
  Sitting sitting = {.folder = NULL};
  sitting_begin(&sitting, 44100);
  Ready ready =
      after_writing(&sitting,
                    (const char* const[]){"--bars", "1-2", "--tempo", "77", "--silent-bars", "4:2",
                                          "--ladder", NULL},
                    (const char* const[]){"--json", "--no-keep", "--bars", "all", "--tempo", "60",
                                          "--silent-bars", "none", "--no-ladder", NULL});
  assert_true(fabs(ready.bpm - 60.0) < 1e-9);
  assert_null(strstr(ready.notes, "asks for"));
  assert_null(strstr(ready.notes, "ladder"));
  free(ready.notes);
  sitting_clear(&sitting);
}

int
main(const int argc, char** const argv)
{
  if (argc < 4) {
    fprintf(stderr, "usage: %s STEADYREED MAKE_TAKE SOURCE_ROOT\n", argv[0]);
    return 2;
  }
  test_program = argv[1];
  test_make_take = argv[2];
  test_source = argv[3];
  if (!has_program("pulseaudio") || !has_program("pactl")) {
    printf("skipped: needs Debian's pulseaudio and pulseaudio-utils\n");
    return 77;
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(as_the_file_asks),
      cmocka_unit_test(without_a_click),
      cmocka_unit_test(options_win),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
