// SPDX-License-Identifier: GPL-3.0-or-later

// Where takes are kept (XDG Base Directory Specification 0.8), and what they are called.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "kept.h"
#include "run_program.h"

#include <steadyreed/recording.h>

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static char* folder;

static int
prepare(void** const state)
{
  (void)state;
  folder = folder_make();
  return 0;
}

static int
remove_one(const char* const path, const struct stat* const status, const int kind,
           struct FTW* const place)
{
  (void)status;
  (void)kind;
  return place->level > 0 ? remove(path) : 0;
}

static int
empty(void** const state)
{
  (void)state;
  return nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static int
clean_up(void** const state)
{
  empty(state);
  rmdir(folder);
  free(folder);
  return 0;
}

static void
set_variable(const char* const name, const char* const value)
{
  assert_int_equal(value ? setenv(name, value, 1) : unsetenv(name), 0);
}

static void
assert_folder(const char* const data, const char* const home, const char* const wanted)
{
  set_variable("XDG_DATA_HOME", data);
  set_variable("HOME", home);
  char* found = NULL;
  SrError error = {0};
  assert_int_equal(sr_takes_folder(&found, &error), SR_OK);
  assert_string_equal(found, wanted);
  struct stat status;
  assert_int_equal(stat(found, &status), 0);
  assert_true(S_ISDIR(status.st_mode));
  free(found);
}

static void
assert_no_folder(const char* const data, const char* const home, const SrStatus wanted)
{
  set_variable("XDG_DATA_HOME", data);
  set_variable("HOME", home);
  char* found = folder;
  SrError error = {0};
  assert_int_equal(sr_takes_folder(&found, &error), wanted);
  assert_null(found);
  assert_true(strlen(error.message) > 20);
}

static void
variables_lead_to_it(void** const state)
{
  (void)state;
  char* const home = folder_path(folder, "home");
  char* const data = folder_path(folder, "data");
  char* const by_home = folder_path(home, ".local/share/steadyreed/takes");
  char* const by_data = folder_path(data, "steadyreed/takes");
  assert_int_equal(mkdir(home, 0755), 0);
  assert_folder(NULL, home, by_home);
  assert_folder("", home, by_home);
  // Relative paths are to be ignored.
  assert_folder("data", home, by_home);
  assert_folder("./data", home, by_home);
  assert_false(exists("data"));
  assert_false(exists(data));
  assert_folder(data, home, by_data);
  // A second time it is there.
  assert_folder(data, home, by_data);
  assert_folder(data, NULL, by_data);
  assert_no_folder(NULL, NULL, SR_NOT_FOUND);
  assert_no_folder("data", "home", SR_NOT_FOUND);
  assert_no_folder("", "", SR_NOT_FOUND);
  free(home);
  free(data);
  free(by_home);
  free(by_data);
}

static void
mode_is_0700_whatever_the_umask(void** const state)
{
  (void)state;
  static const mode_t masks[] = {0, 022, 077, 0777};
  static const char* const made[] = {".local", ".local/share", ".local/share/steadyreed",
                                     ".local/share/steadyreed/takes"};
  for (size_t i = 0; i < sizeof(masks) / sizeof(masks[0]); ++i) {
    set_variable("XDG_DATA_HOME", NULL);
    set_variable("HOME", folder);
    const mode_t before = umask(masks[i]);
    char* found = NULL;
    const SrStatus outcome = sr_takes_folder(&found, NULL);
    umask(before);
    assert_int_equal(outcome, SR_OK);
    for (size_t m = 0; m < sizeof(made) / sizeof(made[0]); ++m) {
      char* const path = folder_path(folder, made[m]);
      assert_int_equal(mode_of(path), 0700);
      free(path);
    }
    // One that is there keeps its mode: whoever opened it to others meant it.
    assert_int_equal(chmod(found, 0750), 0);
    free(found);
    assert_int_equal(sr_takes_folder(&found, NULL), SR_OK);
    assert_int_equal(mode_of(found), 0750);
    free(found);
    empty(NULL);
  }
}

static void
something_in_its_place(void** const state)
{
  (void)state;
  char* const file = folder_path(folder, "steadyreed");
  FILE* const made = fopen(file, "w");
  assert_non_null(made);
  fclose(made);
  assert_no_folder(folder, NULL, SR_WRITE_FAILED);
  assert_no_folder("/dev/null", NULL, SR_WRITE_FAILED);
  free(file);
}

/// In a child without the rights of root: the status that sr_takes_folder() returns.
static int
status_without_rights(void)
{
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    if (getuid() == 0 && (setgid(65534) || setuid(65534))) {
      _exit(99);
    }
    char* found = NULL;
    const SrStatus outcome = sr_takes_folder(&found, NULL);
    free(found);
    _exit((int)outcome);
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_true(WIFEXITED(status));
  return WEXITSTATUS(status);
}

static void
unwritable(void** const state)
{
  (void)state;
  set_variable("XDG_DATA_HOME", folder);
  set_variable("HOME", NULL);
  // The folder in which it would be made,
  assert_int_equal(chmod(folder, 0555), 0);
  assert_int_equal(status_without_rights(), SR_NO_PERMISSION);
  // and it itself.
  assert_int_equal(chmod(folder, 0755), 0);
  char* found = NULL;
  assert_int_equal(sr_takes_folder(&found, NULL), SR_OK);
  char* const between = folder_path(folder, "steadyreed");
  assert_int_equal(chmod(between, 0755), 0);
  assert_int_equal(chmod(found, 0555), 0);
  assert_int_equal(status_without_rights(), SR_NO_PERMISSION);
  assert_int_equal(chmod(found, 0777), 0);
  assert_int_equal(status_without_rights(), SR_OK);
  free(between);
  free(found);
  assert_int_equal(chmod(folder, 0700), 0);
}

/// Seconds of local time since some day, by the name of a take.
static time_t
time_of_name(const char* const name)
{
  struct tm reported = {0};
  const char* const end = strptime(name, "%Y-%m-%d-%H%M%S", &reported);
  assert_non_null(end);
  assert_int_equal(end - name, strlen("2026-11-25-213105"));
  reported.tm_isdst = -1;
  return mktime(&reported);
}

static void
assert_name(const char* const title, const char* const wanted_end)
{
  char* path = NULL;
  const time_t before = time(NULL);
  assert_int_equal(sr_take_name(folder, title, &path, NULL), SR_OK);
  const time_t after = time(NULL);
  assert_memory_equal(path, folder, strlen(folder));
  const char* const name = path + strlen(folder) + 1;
  assert_int_equal(name[-1], '/');
  const time_t reported = time_of_name(name);
  assert_true(reported >= before && reported <= after);
  assert_string_equal(name + strlen("2026-11-25-213105"), wanted_end);
  free(path);
}

static void
names_are_plain(void** const state)
{
  (void)state;
  static const char* const zones[] = {"UTC", "UTC-14", "UTC+12", "IST-5:30"};
  for (size_t z = 0; z < sizeof(zones) / sizeof(zones[0]); ++z) {
    set_variable("TZ", zones[z]);
    tzset();
    assert_name("The Wet Gate", "-the-wet-gate.flac");
  }
  assert_name("", ".flac");
  assert_name("♯♯♯", ".flac");
  assert_name("../../etc/Passwd", "-etc-passwd.flac");
  assert_name(" -- A  jig, No. 3 (slow) ", "-a-jig-no-3-slow.flac");
  assert_name("Eibhlín's", "-eibhl-n-s.flac");
  assert_name("a/b\\c\nd\x1B[31m", "-a-b-c-d-31m.flac");
  // However long the title, the name has room in 255 bytes.
  static char title[5000];
  for (size_t i = 0; i + 1 < sizeof(title); ++i) {
    title[i] = i % 3 ? 'q' : '!';
  }
  char* path = NULL;
  assert_int_equal(sr_take_name(folder, title, &path, NULL), SR_OK);
  assert_in_range(strlen(path) - strlen(folder), 60, 100);
  free(path);
}

static void
a_name_that_is_there_is_numbered(void** const state)
{
  (void)state;
  // More than the seconds that this takes, so that some share their second.
  size_t numbered = 0;
  for (int i = 0; i < 30; ++i) {
    char* path = NULL;
    assert_int_equal(sr_take_name(folder, "same", &path, NULL), SR_OK);
    SrRecording* recording = NULL;
    assert_int_equal(sr_recording_new(path, 48000.0, NULL, &recording, NULL), SR_OK);
    assert_int_equal(sr_recording_finish(recording, NULL), SR_OK);
    const char* const title = strstr(path, "-same");
    assert_non_null(title);
    numbered += strcmp(title, "-same.flac") != 0;
    if (strcmp(title, "-same.flac") != 0) {
      char* end = NULL;
      const unsigned long number = strtoul(title + strlen("-same-"), &end, 10);
      assert_string_equal(end, ".flac");
      assert_in_range(number, 2, 30);
    }
    free(path);
  }
  assert_int_equal(count_files(folder), 30);
  assert_true(numbered >= 1);
  // A link that leads nowhere is there too; a folder may end in a slash.
  char* slashed = folder_path(folder, "");
  char* path = NULL;
  assert_int_equal(sr_take_name(slashed, "link", &path, NULL), SR_OK);
  assert_null(strstr(path + strlen(folder), "//"));
  assert_int_equal(symlink("nowhere", path), 0);
  char* other = NULL;
  assert_int_equal(sr_take_name(slashed, "link", &other, NULL), SR_OK);
  assert_string_not_equal(path, other);
  free(slashed);
  free(path);
  free(other);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_teardown(variables_lead_to_it, empty),
      cmocka_unit_test_teardown(mode_is_0700_whatever_the_umask, empty),
      cmocka_unit_test_teardown(something_in_its_place, empty),
      cmocka_unit_test_teardown(unwritable, empty),
      cmocka_unit_test_teardown(names_are_plain, empty),
      cmocka_unit_test_teardown(a_name_that_is_there_is_numbered, empty),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
