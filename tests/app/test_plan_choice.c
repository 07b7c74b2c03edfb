// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_plan_choice.c
   The instrument and style that a player named: in all commands, and in the next run.

   usage: test_plan_choice STEADYREED PHRASE.abc TAKE STYLE.json LAYOUT.json
*/

#include "run_program.h"

#include <steadyreed/preferences.h>

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

#define HEAD "{\"format\": \"steadyreed-preferences\", \"version\": 1"
#define BEFORE "as you chose before"
#define FROM_NOW "from now on"

static const char* program;
static const char* phrase;
static const char* take;
static const char* shipped_style;
static const char* shipped_layout;
static char* home;
static char* folder;
static char* kept;

#define RUN(...) run_program((const char* const[]){program, __VA_ARGS__, NULL})

static int
prepare(void** const state)
{
  (void)state;
  home = folder_make();
  folder = folder_path(home, "steadyreed");
  kept = folder_path(folder, "preferences.json");
  return setenv("XDG_CONFIG_HOME", home, 1);
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(folder);
  folder_remove(home);
  free(kept);
  free(folder);
  free(home);
  return 0;
}

static char*
content(const char* const path)
{
  char text[8192] = "";
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  text[fread(text, 1, sizeof(text) - 1, file)] = '\0';
  fclose(file);
  return strdup(text);
}

static void
copy(const char* const from, const char* const to)
{
  char* const text = content(from);
  file_put(to, text);
  free(text);
}

/// A run must end well, having said some words on standard error, or none for NULL.
static char*
output_of(ProgramRun run, const char* const said)
{
  if (run.status || (said ? !strstr(run.trouble, said) : run.trouble[0])) {
    print_error("status %d, \"%s\"\n", run.status, run.trouble);
    fail();
  }
  char* const output = strdup(run.output);
  run_clear(&run);
  return output;
}

static void
assert_same(char* const one, char* const other)
{
  assert_string_equal(one, other);
  free(one);
  free(other);
}

static void
assert_other(char* const one, char* const other)
{
  assert_string_not_equal(one, other);
  free(one);
  free(other);
}

static void
across_is_the_default(void** const state)
{
  (void)state;
  char* const usual = output_of(RUN("plan", phrase), NULL);
  assert_same(output_of(RUN("plan", phrase, "--style", "across"), FROM_NOW), strdup(usual));
  assert_other(output_of(RUN("plan", phrase, "--style", "along"), FROM_NOW), usual);
}

static void
a_choice_counts_until_the_next(void** const state)
{
  (void)state;
  char* const usual = output_of(RUN("plan", phrase), NULL);
  assert_int_equal(access(kept, F_OK), -1);
  char* const along = output_of(RUN("plan", phrase, "--style", "along"), FROM_NOW);
  struct stat info;
  assert_int_equal(stat(kept, &info), 0);
  assert_int_equal(info.st_mode & 0777, 0600);
  assert_int_equal(stat(folder, &info), 0);
  assert_int_equal(info.st_mode & 0777, 0700);
  assert_same(output_of(RUN("plan", phrase), BEFORE), strdup(along));
  // Named again it is nothing new, and nothing is remembered
  assert_same(output_of(RUN("plan", phrase, "--style", "along"), NULL), strdup(along));
  // An instrument beside it changes only itself
  assert_other(output_of(RUN("plan", phrase, "--instrument", "30-g-d"), FROM_NOW), along);
  char* const text = content(kept);
  assert_non_null(strstr(text, "\"style\": \"along\""));
  assert_non_null(strstr(text, "\"instrument\": \"30-g-d\""));
  free(text);
  assert_same(output_of(RUN("plan", phrase), BEFORE),
              output_of(RUN("plan", phrase, "--style", "along", "--instrument", "30-g-d"), NULL));
  ProgramRun shown = RUN("setup", "--show");
  assert_non_null(strstr(shown.output, "30-g-d, along the rows"));
  run_clear(&shown);
  assert_int_equal(unlink(kept), 0);
  assert_same(output_of(RUN("plan", phrase), NULL), usual);
}

static void
setup_can_forget(void** const state)
{
  (void)state;
  char* const usual = output_of(RUN("plan", phrase), NULL);
  free(output_of(RUN("plan", phrase, "--style", "along"), FROM_NOW));
  char* const setup = folder_path(folder, "setup.json");
  file_put(setup, "{\"format\": \"steadyreed-setup\", \"version\": 1}");
  free(output_of(RUN("setup", "--forget"), NULL));
  assert_int_equal(access(kept, F_OK), -1);
  assert_int_equal(access(setup, F_OK), 0);
  assert_same(output_of(RUN("plan", phrase), NULL), usual);
  // And what is not there can be forgotten as well
  free(output_of(RUN("setup", "--forget"), NULL));
  ProgramRun run = RUN("setup", "--forget", "--show");
  assert_int_equal(run.status, 2);
  run_clear(&run);
  free(setup);
}

/// In this take the second E of bar 5 ran into the first; advice names its button if there is a
/// plan.
static void
takes_are_judged_by_the_choice(void** const state)
{
  (void)state;
  char* const plain = output_of(RUN("assess", phrase, take), NULL);
  assert_null(strstr(plain, "the first E ("));
  // What is named for a take is not remembered: it may be another player's
  char* named =
      output_of(RUN("assess", phrase, take, "--instrument", "30-g-d", "--pin", "5:1=L3-4"), NULL);
  assert_non_null(strstr(named, "the first E (L3-4, press)"));
  free(named);
  named =
      output_of(RUN("assess", phrase, take, "--instrument", "30-g-d", "--pin", "5:1=L2-5"), NULL);
  assert_non_null(strstr(named, "the first E (L2-5, draw)"));
  free(named);
  named = output_of(RUN("assess", phrase, take, "--style", "along"), NULL);
  assert_non_null(strstr(named, "the first E (L2-4, press)"));
  free(named);
  named = output_of(RUN("assess", phrase, take, "--open", "40"), NULL);
  assert_non_null(strstr(named, "the first E (L2-4, press)"));
  free(named);
  assert_int_equal(access(kept, F_OK), -1);
  assert_same(output_of(RUN("assess", phrase, take), NULL), plain);
  // A choice made with `plan` counts, and is said to
  free(output_of(RUN("plan", phrase, "--style", "across"), FROM_NOW));
  named = output_of(RUN("assess", phrase, take), BEFORE);
  assert_non_null(strstr(named, "the first E (L2-4, press)"));
  free(named);
}

static void
practice_remembers(void** const state)
{
  (void)state;
  // What opens devices leaks, but not by our hand: see use_sound_system() in test_usage.c
  const char* const options = getenv("ASAN_OPTIONS");
  char* const before = options ? strdup(options) : NULL;
  setenv("ASAN_OPTIONS", "detect_leaks=0", 1);
  // It ends before it listens, with or without a sound server
  ProgramRun run = RUN("practise", phrase, "--style", "along", "--input", "no such device");
  const int status = run.status;
  run_clear(&run);
  assert_int_equal(status, 3);
  char* const text = content(kept);
  assert_non_null(strstr(text, "\"style\": \"along\""));
  free(text);
  run = RUN("practise", phrase, "--input", "no such device");
  assert_non_null(strstr(run.trouble, BEFORE));
  run_clear(&run);
  run = RUN("practise", phrase, "--pin", "1:1=Q9-9", "--input", "no such device");
  assert_int_equal(run.status, 2);
  assert_non_null(strstr(run.trouble, "has no button"));
  run_clear(&run);
  run = RUN("practise", phrase, "--open", "101");
  assert_int_equal(run.status, 2);
  assert_non_null(strstr(run.trouble, "from 0 to 100"));
  run_clear(&run);
  run = RUN("practise", "--pin", "1:1=L1-1");
  assert_int_equal(run.status, 2);
  assert_non_null(strstr(run.trouble, "without a phrase --pin"));
  run_clear(&run);
  if (before) {
    setenv("ASAN_OPTIONS", before, 1);
  } else {
    unsetenv("ASAN_OPTIONS");
  }
  free(before);
}

static void
an_air_drill_is_for_the_chosen_box(void** const state)
{
  (void)state;
  char* const usual = output_of(RUN("drill", "air"), NULL);
  free(output_of(RUN("drill", "air", "--instrument", "20-g-d", "--key", "G"), NULL));
  assert_same(output_of(RUN("drill", "air"), NULL), usual); // what a drill is for is not remembered
  free(output_of(RUN("plan", phrase, "--instrument", "30-g-d"), FROM_NOW));
  assert_same(output_of(RUN("drill", "air", "--key", "G"), "30-g-d"),
              output_of(RUN("drill", "air", "--key", "G", "--instrument", "30-g-d"), NULL));
  assert_other(output_of(RUN("drill", "air", "--key", "G"), "30-g-d"),
               output_of(RUN("drill", "air", "--key", "G", "--instrument", "30-c-g"), NULL));
}

/// A file is found from any folder, and if it is gone that is said.
static void
a_file_is_remembered_by_its_whole_path(void** const state)
{
  (void)state;
  char was[4096];
  assert_non_null(getcwd(was, sizeof(was)));
  char* const style = folder_path(home, "mine.json");
  char* const layout = folder_path(home, "box.json");
  copy(shipped_style, style);
  copy(shipped_layout, layout);
  assert_int_equal(chdir(home), 0);
  char* const named =
      output_of(RUN("plan", phrase, "--style", "mine.json", "--instrument", "box.json"), FROM_NOW);
  assert_int_equal(chdir(was), 0);
  assert_same(output_of(RUN("plan", phrase), style), named);
  assert_int_equal(unlink(style), 0);
  ProgramRun run = RUN("plan", phrase);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, style));
  assert_non_null(strstr(run.trouble, BEFORE));
  run_clear(&run);
  // Judging goes on without a plan, as nothing asks for one now
  char* const judged = output_of(RUN("assess", phrase, take), "without a plan");
  assert_null(strstr(judged, "the first E ("));
  free(judged);
  run = RUN("assess", phrase, take, "--open", "50");
  assert_int_equal(run.status, 1);
  run_clear(&run);
  assert_int_equal(unlink(layout), 0);
  free(layout);
  free(style);
}

/// What is remembered is not overwritten by the plan, either.
static void
remembered_files_are_not_overwritten(void** const state)
{
  (void)state;
  char* const style = folder_path(home, "mine.json");
  copy(shipped_style, style);
  free(output_of(RUN("plan", phrase, "--style", style), FROM_NOW));
  ProgramRun run = RUN("plan", phrase, "-o", style);
  assert_int_equal(run.status, 2);
  run_clear(&run);
  run = RUN("assess", phrase, take, "-o", style);
  assert_int_equal(run.status, 2);
  run_clear(&run);
  assert_same(content(style), content(shipped_style));
  free(style);
}

static void
a_damaged_choice_is_set_aside(void** const state)
{
  (void)state;
  static const struct {
    const char* text;
    const char* named;
  } damaged[] = {{"", "preferences.json"},
                 {"{\n\"format\":\n", "preferences.json:3"},
                 {"{\"format\": \"steadyreed-setup\", \"version\": 1}", "format"},
                 {"{\"format\": \"steadyreed-preferences\", \"version\": 2}", "version"},
                 {HEAD ", \"style\": 3}", "style"},
                 {HEAD ", \"style\": \"\"}", "style"},
                 {HEAD ", \"instrument\": []}", "instrument"}};
  char* const usual = output_of(RUN("plan", phrase), NULL);
  assert_int_equal(mkdir(folder, 0700), 0);
  for (size_t i = 0; i < sizeof(damaged) / sizeof(damaged[0]); ++i) {
    file_put(kept, damaged[i].text);
    // Another choice on top of it must not lose it
    const bool another = i % 2 == 1;
    ProgramRun run = another ? RUN("plan", phrase, "--style", "across") : RUN("plan", phrase);
    assert_int_equal(run.status, 0);
    assert_string_equal(run.output, usual);
    assert_non_null(strstr(run.trouble, kept));
    assert_non_null(strstr(run.trouble, damaged[i].named));
    run_clear(&run);
    assert_int_equal(access(kept, F_OK), another ? 0 : -1);
    char name[64];
    snprintf(name, sizeof(name), "preferences.json.damaged-%zu", i + 1);
    char* const aside = folder_path(folder, name);
    assert_same(content(aside), strdup(damaged[i].text));
    free(aside);
  }
  free(usual);
}

static void
what_cannot_be_kept_is_no_failure(void** const state)
{
  (void)state;
  // The folder of settings cannot be made where a file is
  file_put(folder, "a file");
  char* const planned = output_of(RUN("plan", phrase, "--style", "along"), "preferences.json");
  free(planned);
  assert_same(content(folder), strdup("a file"));
  assert_int_equal(unlink(folder), 0);
}

static void
a_choice_that_cannot_be_read_stays(void** const state)
{
  (void)state;
  if (geteuid() == 0) {
    skip(); // Nothing is unreadable
  }
  free(output_of(RUN("plan", phrase, "--style", "along"), FROM_NOW));
  char* const text = content(kept);
  assert_int_equal(chmod(kept, 0), 0);
  free(output_of(RUN("plan", phrase, "--style", "across"), kept));
  ProgramRun run = RUN("setup", "--forget");
  assert_int_equal(run.status, 3);
  assert_non_null(strstr(run.trouble, kept));
  run_clear(&run);
  assert_int_equal(chmod(kept, 0600), 0);
  assert_same(content(kept), text);
}

static void
only_texts_are_kept(void** const state)
{
  (void)state;
  SrError error = {0};
  static char large[SR_PREFERENCE_MOST_BYTES + 2];
  bool changed = true;
  memset(large, 'a', sizeof(large) - 1);
  const char* const wrong[] = {"", "\xFF", large};
  for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); ++i) {
    assert_int_equal(sr_preferences_keep(wrong[i], NULL, &changed, &error), SR_BAD_ARGUMENT);
    assert_false(changed);
    assert_int_equal(access(kept, F_OK), -1);
  }
  large[SR_PREFERENCE_MOST_BYTES] = '\0';
  SrPreferences read;
  assert_int_equal(sr_preferences_keep(large, "along", &changed, &error), SR_OK);
  assert_true(changed);
  assert_int_equal(sr_preferences_keep(NULL, "along", &changed, &error), SR_OK);
  assert_false(changed);
  assert_int_equal(sr_preferences_read(&read, &error), SR_OK);
  assert_string_equal(read.layout, large);
  assert_string_equal(read.style, "along");
  sr_preferences_clear(&read);
  assert_null(read.layout);
}

int
main(const int argc, char** const argv)
{
  if (argc != 6) {
    return 2;
  }
  program = realpath(argv[1], NULL);
  phrase = argv[2];
  take = argv[3];
  shipped_style = argv[4];
  shipped_layout = argv[5];
#define KEPT(test) cmocka_unit_test_setup_teardown(test, prepare, clean_up)
  const struct CMUnitTest tests[] = {
      KEPT(across_is_the_default),
      KEPT(a_choice_counts_until_the_next),
      KEPT(setup_can_forget),
      KEPT(takes_are_judged_by_the_choice),
      KEPT(practice_remembers),
      KEPT(an_air_drill_is_for_the_chosen_box),
      KEPT(a_file_is_remembered_by_its_whole_path),
      KEPT(remembered_files_are_not_overwritten),
      KEPT(a_damaged_choice_is_set_aside),
      KEPT(what_cannot_be_kept_is_no_failure),
      KEPT(a_choice_that_cannot_be_read_stays),
      KEPT(only_texts_are_kept),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
