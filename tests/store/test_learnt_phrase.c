// SPDX-License-Identifier: GPL-3.0-or-later

// Phrases learnt by ear are kept, and no file is ever changed.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "kept.h"
#include "run_program.h"
#include "store/new_name.h"

#include <steadyreed/learnt_phrase.h>

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char* folder;

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  return setenv("XDG_DATA_HOME", folder, 1);
}

static int
clean_up(void** const state)
{
  (void)state;
  char command[512];
  snprintf(command, sizeof(command), "rm -rf '%s'", folder);
  const int status = system(command);
  free(folder);
  return status;
}

static char*
keep(const char* const title, const char* const text)
{
  char* path = NULL;
  SrError error = {0};
  assert_int_equal(sr_learnt_phrase_keep(title, text, strlen(text), &path, &error), SR_OK);
  return path;
}

static void
expect(const char* const path, const char* const name, const char* const text)
{
  char wanted[512];
  char read[64] = "";
  snprintf(wanted, sizeof(wanted), "%s/steadyreed/learnt/%s", folder, name);
  assert_string_equal(path, wanted);
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  assert_int_equal(fread(read, 1, sizeof(read) - 1, file), strlen(text));
  fclose(file);
  assert_string_equal(read, text);
}

static void
no_file_is_changed(void** const state)
{
  (void)state;
  char* const first = keep("The Wet Gate", "X:1\nK:D\nA|\n");
  char* const second = keep("the wet gate!", "X:1\nK:D\nB|\n");
  char* const same = keep("The Wet Gate", "X:1\nK:D\nA|\n");
  char* const nameless = keep("Ø", "X:1\nK:D\nA|\n");
  expect(first, "the-wet-gate.abc", "X:1\nK:D\nA|\n");
  expect(second, "the-wet-gate-2.abc", "X:1\nK:D\nB|\n");
  assert_string_equal(same, first);
  expect(nameless, "phrase.abc", "X:1\nK:D\nA|\n");
  assert_int_equal(mode_of(first), 0600);
  char* const kept = folder_path(folder, "steadyreed/learnt");
  assert_int_equal(mode_of(kept), 0700);
  // Nothing is left of writing them
  assert_int_equal(count_files(kept), 3);
  free(kept);
  free(first);
  free(second);
  free(same);
  free(nameless);
}

/// As on a file system without hard links.
static void
no_file_is_replaced_without_links(void** const state)
{
  (void)state;
  char* const written = folder_path(folder, "written");
  char* const other = folder_path(folder, "other");
  char* const name = folder_path(folder, "name");
  file_put(written, "first");
  file_put(other, "second");
  assert_int_equal(sr_new_name_without_links(written, name), 0);
  assert_int_equal(sr_new_name_without_links(other, name), EEXIST);
  char read[16] = "";
  FILE* const file = fopen(name, "r");
  assert_non_null(file);
  assert_int_equal(fread(read, 1, sizeof(read) - 1, file), 5);
  fclose(file);
  assert_string_equal(read, "first");
  assert_int_equal(access(written, F_OK), -1);
  // Nothing is left of a name when there is no file
  assert_int_equal(unlink(name), 0);
  assert_int_equal(sr_new_name_without_links(written, name), ENOENT);
  assert_int_equal(access(name, F_OK), -1);
  unlink(other);
  free(name);
  free(other);
  free(written);
}

static void
a_folder_that_cannot_be_made_is_told(void** const state)
{
  (void)state;
  char* const file = folder_path(folder, "a-file");
  char* path = NULL;
  SrError error = {0};
  file_put(file, "");
  setenv("XDG_DATA_HOME", file, 1);
  assert_int_equal(sr_learnt_phrase_keep("A", "X:1\n", 4, &path, &error), SR_WRITE_FAILED);
  assert_null(path);
  assert_non_null(strstr(error.message, "learnt phrases"));
  setenv("XDG_DATA_HOME", folder, 1);
  free(file);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_file_is_changed),
      cmocka_unit_test(no_file_is_replaced_without_links),
      cmocka_unit_test(a_folder_that_cannot_be_made_is_told),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
