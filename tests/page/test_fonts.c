// SPDX-License-Identifier: GPL-3.0-or-later

// Computers with few fonts, or none: a configuration of fontconfig of our own for a run of
// make_sheet.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "run_program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// A font without ♯ and ♭, of Debian's fonts-urw-base35.
#define POOR_FONT "/usr/share/fonts/opentype/urw-base35/NimbusSans-Regular.otf"

static const char* program;
static char* folder;

/// Fonts of the test's folder are all there are.
static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  char* const path = folder_path(folder, "fonts.conf");
  FILE* const file = fopen(path, "w");
  if (!file) {
    return 1;
  }
  fprintf(file,
          "<?xml version=\"1.0\"?><fontconfig><dir>%s</dir><cachedir>%s</cachedir></fontconfig>",
          folder, folder);
  fclose(file);
  setenv("FONTCONFIG_FILE", path, 1);
  free(path);
  return 0;
}

static int
clean_up(void** const state)
{
  (void)state;
  unsetenv("FONTCONFIG_FILE");
  folder_remove(folder);
  free(folder);
  return 0;
}

static void
no_font_is_reported(void** const state)
{
  (void)state;
  char* const path = folder_path(folder, "sheet.pdf");
  const char* const arguments[] = {program, "jig", path, NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 1);
  assert_non_null(strstr(run.trouble, "no font"));
  assert_int_not_equal(access(path, F_OK), 0);
  run_clear(&run);
  free(path);
}

static void
signs_are_replaced(void** const state)
{
  (void)state;
  char* const font = folder_path(folder, "poor.otf");
  if (access(POOR_FONT, R_OK) != 0 || symlink(POOR_FONT, font) != 0) {
    free(font);
    print_message("%s is not installed: not checked\n", POOR_FONT);
    skip();
  }
  free(font);
  char* const path = folder_path(folder, "sheet.pdf");
  const char* const arguments[] = {program, "jig", path, NULL};
  ProgramRun run = run_program(arguments);
  assert_int_equal(run.status, 0);
  run_clear(&run);
  const char* const reader[] = {"pdftotext", path, "-", NULL};
  run = run_program(reader);
  if (run.status == 98) {
    print_message("pdftotext is not installed: not checked\n");
  } else {
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.output, "F#"));
    assert_null(strstr(run.output, "♯"));
  }
  run_clear(&run);
  free(path);
}

int
main(const int argc, char** const argv)
{
  if (argc != 2) {
    return 2;
  }
  program = argv[1];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(no_font_is_reported, prepare, clean_up),
      cmocka_unit_test_setup_teardown(signs_are_replaced, prepare, clean_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
