// SPDX-License-Identifier: GPL-3.0-or-later

// Layouts as named on the command line. Arguments: the program, the source tree, and a folder of
// shipped layouts.

#include "run_program.h"

#include <steadyreed/layout.h>

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

static const char* program;
static const char* tree;
static const char* shipped;

static char* home;      ///< XDG_CONFIG_HOME
static char* settings;  ///< … and steadyreed in it
static char* own;       ///< … and instruments in that
static char* elsewhere; ///< A folder of files

static int
prepare(void** const state)
{
  (void)state;
  home = folder_make();
  settings = folder_path(home, "steadyreed");
  own = folder_path(settings, "instruments");
  elsewhere = folder_make();
  assert_int_equal(mkdir(settings, 0700), 0);
  assert_int_equal(mkdir(own, 0700), 0);
  setenv("XDG_CONFIG_HOME", home, 1);
  setenv("STEADYREED_DATA", tree, 1);
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  folder_remove(own);
  folder_remove(settings);
  folder_remove(home);
  folder_remove(elsewhere);
  free(own);
  free(settings);
  free(home);
  free(elsewhere);
  return 0;
}

/// Copy a shipped layout with one text in it changed. Its path; free() it.
static char*
copy_layout(const char* const name, const char* const from, const char* const to,
            const char* const folder, const char* const file)
{
  char* const source = folder_path(shipped, name);
  char* const path = folder_path(folder, file);
  FILE* const in = fopen(source, "rb");
  FILE* const out = fopen(path, "wb");
  assert_true(in && out);
  static char text[65536];
  text[fread(text, 1, sizeof(text) - 1, in)] = '\0';
  const char* const place = strstr(text, from);
  assert_non_null(place);
  fprintf(out, "%.*s%s%s", (int)(place - text), text, to, place + strlen(from));
  fclose(in);
  fclose(out);
  free(source);
  return path;
}

static void
check_read(const char* const asked, const char* const name, const char* const title)
{
  SrInstrument* instrument = NULL;
  SrError error = {0};
  if (sr_layout_read(asked, &instrument, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  assert_string_equal(sr_instrument_name(instrument), name);
  assert_int_equal(strncmp(sr_instrument_title(instrument), title, strlen(title)), 0);
  sr_instrument_del(instrument);
}

static void
layouts_are_found_by_name_or_path(void** const state)
{
  (void)state;
  check_read(NULL, SR_USUAL_LAYOUT, "30 buttons, C and G");
  check_read("20-g-d", "20-g-d", "20 buttons, G and D");
  char* const mine = copy_layout("20-c-g.json", "20 buttons", "Mine", own, "mine.json");
  check_read("mine", "mine", "Mine");
  check_read(mine, "mine", "Mine");
  // A copy under the shipped name counts more, as long as it is there
  char* const same = copy_layout("30-c-g.json", "30 buttons", "Changed", own, "30-c-g.json");
  check_read("30-c-g", "30-c-g", "Changed");
  check_read(NULL, "30-c-g", "Changed");
  unlink(same);
  check_read("30-c-g", "30-c-g", "30 buttons");
  // In the folder one is in, by the ending
  char* const here = copy_layout("20-c-g.json", "20 buttons", "Here", elsewhere, "here.json");
  char* const before = getcwd(NULL, 0);
  assert_int_equal(chdir(elsewhere), 0);
  check_read("here.json", "here", "Here");
  check_read("./here.json", "here", "Here");
  assert_int_equal(chdir(before), 0);
  // One's own is found where the shipped ones are missing
  setenv("STEADYREED_DATA", elsewhere, 1);
  check_read("mine", "mine", "Mine");
  SrInstrument* instrument = NULL;
  SrError error = {0};
  assert_int_equal(sr_layout_read("20-c-g", &instrument, &error), SR_NOT_FOUND);
  assert_non_null(strstr(error.message, "STEADYREED_DATA"));
  setenv("STEADYREED_DATA", tree, 1);
  unlink(mine);
  unlink(here);
  free(before);
  free(here);
  free(same);
  free(mine);
}

static void
unknown_names_are_reported(void** const state)
{
  (void)state;
  char* const mine = copy_layout("20-c-g.json", "20 buttons", "Mine", own, "mine.json");
  SrInstrument* instrument = NULL;
  SrError error = {0};
  assert_int_equal(sr_layout_read("30-g-c", &instrument, &error), SR_NOT_FOUND);
  assert_null(instrument);
  assert_non_null(strstr(error.message, "no layout \"30-g-c\"; there are 20-b-flat-f, 20-c-g,"));
  assert_non_null(strstr(error.message, ", mine."));
  assert_int_equal(sr_layout_read("", &instrument, &error), SR_NOT_FOUND);
  assert_int_equal(sr_layout_read("..", &instrument, &error), SR_NOT_FOUND);
  assert_int_equal(sr_layout_read("30-c-g.json", &instrument, &error), SR_NOT_FOUND);
  assert_string_equal(error.file, "30-c-g.json");
  char* const broken = copy_layout("20-c-g.json", "\"C3\"", "\"H3\"", own, "broken.json");
  assert_int_equal(sr_layout_read("broken", &instrument, &error), SR_BAD_SYNTAX);
  assert_string_equal(error.file, broken);
  assert_int_equal(strncmp(error.message, "left row 2, button 1: press \"H3\" is not a note", 43),
                   0);
  unlink(broken);
  unlink(mine);
  free(broken);
  free(mine);
}

static void
all_are_listed(void** const state)
{
  (void)state;
  static const char* const wanted[] = {
      "20-b-flat-f",      "20-c-g",         "20-g-d",      "30-b-flat-f",
      "30-b-flat-f-both", "30-c-g",         "30-c-g-both", "30-g-d",
      "30-g-d-both",      "38-c-g-example", "mine"};
  char* const mine = copy_layout("20-c-g.json", "20 buttons", "Mine", own, "mine.json");
  char* const same = copy_layout("30-c-g.json", "30 buttons", "Changed", own, "30-c-g.json");
  char* const no = copy_layout("30-c-g.json", "30 buttons", "Not one", own, "notes.txt");
  char* const hidden = copy_layout("30-c-g.json", "30 buttons", "Hidden", own, ".old.json");
  SrLayoutEntry* entries = NULL;
  size_t count = 0;
  assert_int_equal(sr_layout_list(&entries, &count, NULL), SR_OK);
  assert_int_equal(count, sizeof(wanted) / sizeof(wanted[0]));
  for (size_t i = 0; i < count; ++i) {
    assert_string_equal(entries[i].name, wanted[i]);
    assert_int_equal(entries[i].own, !strcmp(wanted[i], "mine") || !strcmp(wanted[i], "30-c-g"));
    SrInstrument* instrument = NULL;
    assert_int_equal(sr_instrument_read_file(entries[i].path, &instrument, NULL), SR_OK);
    assert_string_equal(sr_instrument_name(instrument), wanted[i]);
    sr_instrument_del(instrument);
  }
  sr_layout_list_del(entries, count);
  sr_layout_list_del(NULL, 0);
  char* const made[] = {mine, same, no, hidden};
  for (size_t i = 0; i < 4; ++i) {
    unlink(made[i]);
    free(made[i]);
  }
}

#define RUN(...) run_program((const char* const[]){program, "drill", __VA_ARGS__, NULL})

static void
check_written(ProgramRun run, const char* const abc)
{
  if (run.status != 0 || !strstr(run.output, abc)) {
    print_error("%d: %s%s", run.status, run.output, run.trouble);
  }
  assert_int_equal(run.status, 0);
  assert_non_null(strstr(run.output, abc));
  run_clear(&run);
}

/// Nothing is written, and the error begins as it should.
static void
check_refused(ProgramRun run, const int status, const char* const trouble)
{
  assert_int_equal(run.status, status);
  assert_string_equal(run.output, "");
  assert_int_equal(strncmp(run.trouble, trouble, strlen(trouble)), 0);
  run_clear(&run);
}

/// `drill air` goes by the layout; the program finds the shipped ones from its build folder.
static void
drill_goes_by_the_layout(void** const state)
{
  (void)state;
  unsetenv("STEADYREED_DATA");
  // On 20 buttons G lies on the press only, so that nothing needs to be said; on 30 both ways
  check_written(RUN("air", "--key", "G", "--instrument", "20-c-g"), "\nC\"_press\"DEG\"_press\"BG");
  check_written(RUN("air", "--key", "G"), "\nC\"_press\"DE\"_press\"G\"_press\"A\"_press\"G");
  char* const mine = copy_layout("20-c-g.json", "{\"press\": \"B4\", \"draw\": \"C5\"}",
                                 "{\"press\": \"C5\", \"draw\": \"B4\"}", own, "mine.json");
  check_written(RUN("air", "--key", "G", "--instrument", "mine"), "DEGcGE");
  check_written(RUN("air", "--key", "G", "--instrument", mine), "DEGcGE");
  check_refused(RUN("air", "--instrument", "none"), 1, "steadyreed: ");
  check_refused(RUN("air", "--instrument", "/nowhere/x.json"), 1, "steadyreed: /nowhere/x.json: ");
  check_refused(RUN("cuts", "--instrument", "20-c-g"), 2, "steadyreed drill: ");
  // The other drills need no layout at all
  setenv("STEADYREED_DATA", elsewhere, 1);
  check_written(RUN("cuts"), "X:1");
  check_refused(RUN("air"), 1, "steadyreed: ");
  setenv("STEADYREED_DATA", tree, 1);
  unlink(mine);
  free(mine);
}

int
main(const int count, char** const arguments)
{
  if (count < 4) {
    fputs("usage: test_layout PROGRAM SOURCE-TREE FOLDER\n", stderr);
    return 1;
  }
  program = arguments[1];
  tree = arguments[2];
  shipped = arguments[3];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(layouts_are_found_by_name_or_path),
      cmocka_unit_test(unknown_names_are_reported),
      cmocka_unit_test(all_are_listed),
      cmocka_unit_test(drill_goes_by_the_layout),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
