// SPDX-License-Identifier: GPL-3.0-or-later

// A history that is damaged, of another program, of a newer version, or may not be written.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "history_home.h"
#include "made_history.h"
#include "run_program.h"

#include <steadyreed/kept_takes.h>

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static MadeHome home;

static int
prepare(void** const state)
{
  (void)state;
  home = made_home();
  return mkdir(home.folder, 0700);
}

static int
clean_up(void** const state)
{
  (void)state;
  made_home_remove(&home);
  return 0;
}

/// Open what is no good, and see that it lies aside and practice goes on.
static void
assert_set_aside(const char* const aside, const char* const word)
{
  SrHistory* const history = made_history_open();
  const char* const remark = sr_history_remark(history);
  assert_non_null(remark);
  assert_non_null(strstr(remark, aside));
  assert_non_null(strstr(remark, word));
  print_message("%s\n", remark);
  assert_null(sr_history_remark(history));
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  const MadeRound round = {.bpm = 90.0};
  made_round_add(history, phrase, &round, 20000, 0, NULL);
  assert_int_equal(made_round_count(history), 1);
  sr_phrase_del(phrase);
  sr_history_close(history);
  assert_true(made_sql_is_whole(home.path));
}

static void
overwrite(const long from, const size_t count)
{
  FILE* const file = fopen(home.path, "r+b");
  assert_non_null(file);
  assert_int_equal(fseek(file, from, SEEK_SET), 0);
  for (size_t i = 0; i < count; ++i) {
    fputc("damage"[i % 6], file);
  }
  assert_int_equal(fclose(file), 0);
}

static void
a_damaged_file_is_set_aside(void** const state)
{
  (void)state;
  char* const first = folder_path(home.folder, "history.sqlite.damaged-1");
  char* const second = folder_path(home.folder, "history.sqlite.damaged-2");
  char* const third = folder_path(home.folder, "history.sqlite.damaged-3");
  file_put(home.path,
           "This is no database, but it is the player's own file, so it must not be lost.\n");
  struct stat before;
  assert_int_equal(stat(home.path, &before), 0);
  SrHistory* history = NULL;
  SrError error = {0};
  // To look at it is no reason to move it
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_LOOK, &history, &error), SR_BAD_SYNTAX);
  assert_string_equal(error.file, home.path);
  assert_set_aside("history.sqlite.damaged-1", "damaged");
  struct stat after;
  assert_int_equal(stat(first, &after), 0);
  assert_int_equal(after.st_ino, before.st_ino);
  assert_int_equal(after.st_size, before.st_size);

  // A real one, with a page overwritten
  overwrite(4096, 4096);
  assert_set_aside("history.sqlite.damaged-2", "damaged");
  assert_int_equal(stat(second, &after), 0);
  // Another program's database
  unlink(home.path);
  made_sql(home.path, "CREATE TABLE other (a)");
  assert_set_aside("history.sqlite.damaged-3", "damaged");
  assert_int_equal(made_sql_number(third, "SELECT count(*) FROM other"), 0);
  unlink(first);
  unlink(second);
  unlink(third);

  // One that is damaged only where a round goes: found when it is added
  history = made_history_open();
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  for (int i = 0; i < 300; ++i) {
    const MadeRound round = {.bpm = 90.0};
    made_round_add(history, phrase, &round, 20000 + i, 0, NULL);
  }
  sr_history_close(history);
  char root[160];
  // The index of uids, whose pages are not looked at on opening
  const long long page = made_sql_number(
      home.path, "SELECT rootpage FROM sqlite_schema WHERE name = 'sqlite_autoindex_round_1'");
  snprintf(root, sizeof(root), "%lld", page);
  overwrite((page - 1) * 4096, 4096);
  history = made_history_open();
  assert_null(sr_history_remark(history));
  const MadeRound round = {.bpm = 90.0};
  made_round_add(history, phrase, &round, 20500, 0, NULL);
  const char* const remark = sr_history_remark(history);
  assert_non_null(remark);
  assert_non_null(strstr(remark, "damaged-1"));
  assert_int_equal(made_round_count(history), 1);
  sr_history_close(history);
  sr_phrase_del(phrase);
  unlink(first);
  unlink(home.path);
  free(first);
  free(second);
  free(third);
}

static void
a_newer_version_is_never_touched(void** const state)
{
  (void)state;
  sr_history_close(made_history_open());
  made_sql(home.path, "PRAGMA user_version = 99");
  for (int use = 0; use < 2; ++use) {
    SrHistory* history = NULL;
    SrError error = {0};
    assert_int_equal(
        sr_history_open(NULL, use ? SR_HISTORY_RECORD : SR_HISTORY_LOOK, &history, &error),
        SR_UNSUPPORTED);
    assert_non_null(strstr(error.message, "newer"));
  }
  assert_int_equal(made_sql_number(home.path, "PRAGMA user_version"), 99);
  unlink(home.path);
}

/// In a child without root's rights: exit status 0 if all holds.
static int
as_a_plain_user(void)
{
  if (geteuid() == 0 && (setgid(65534) || setuid(65534))) {
    return 77;
  }
  SrHistory* history = NULL;
  // It can still be looked at
  if (sr_history_open(NULL, SR_HISTORY_LOOK, &history, NULL) != SR_OK) {
    return 1;
  }
  sr_history_close(history);
  if (chmod(home.folder, 0700) ||
      sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL) != SR_OK) {
    return 2;
  }
  const char* const remark = sr_history_remark(history);
  if (!remark || !strstr(remark, "damaged-1") || !strstr(remark, "may not be written")) {
    return 3;
  }
  print_message("%s\n", remark);
  sr_history_close(history);
  // In a folder that may not be written there is no history, and it says so
  SrError error = {0};
  if (unlink(home.path) || chmod(home.folder, 0500)) {
    return 4;
  }
  const SrStatus status = sr_history_open(NULL, SR_HISTORY_RECORD, &history, &error);
  if (chmod(home.folder, 0700)) {
    return 5;
  }
  print_message("%s\n", error.message);
  return status == SR_NO_PERMISSION && error.message[0] ? 0 : 6;
}

static void
a_read_only_file_is_set_aside(void** const state)
{
  (void)state;
  sr_history_close(made_history_open());
  assert_int_equal(chmod(home.path, 0400), 0);
  if (geteuid() == 0) {
    assert_int_equal(chown(home.data, 65534, 65534), 0);
    assert_int_equal(chown(home.folder, 65534, 65534), 0);
    assert_int_equal(chown(home.path, 65534, 65534), 0);
  }
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    _exit(as_a_plain_user());
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  if (WIFEXITED(status) && WEXITSTATUS(status) == 77) {
    skip();
  }
  assert_int_equal(status, 0);
  char* const aside = folder_path(home.folder, "history.sqlite.damaged-1");
  assert_int_equal(made_sql_number(aside, "PRAGMA user_version"), SR_HISTORY_VERSION);
  unlink(aside);
  free(aside);
}

/// In a child without root's rights: exit status 0 if all holds.
static int
look_at_old_one(void)
{
  if (geteuid() == 0 && (setgid(65534) || setuid(65534))) {
    return 77;
  }
  SrHistory* history = NULL;
  SrHistoryPhrase* phrases = NULL;
  SrTakeEntry* takes = NULL;
  size_t count = 0;
  size_t take_count = 0;
  SrError error = {0};
  if (sr_history_open(NULL, SR_HISTORY_LOOK, &history, &error) != SR_OK) {
    print_message("%s\n", error.message);
    return 1;
  }
  if (sr_history_phrases(history, &phrases, &count, NULL) != SR_OK || count != 1 ||
      strcmp(phrases[0].title, "Old") != 0) {
    return 2;
  }
  // These read what only the newest version has
  if (sr_take_entries(history, NULL, &takes, &take_count, &error) != SR_OK || take_count != 1) {
    print_message("%s\n", error.message);
    return 3;
  }
  // A mark would be lost
  if (sr_history_take_mark(history, takes[0].name, true, &error) != SR_NO_PERMISSION) {
    return 4;
  }
  sr_take_entries_del(takes, take_count);
  sr_history_phrases_del(phrases, count);
  sr_history_close(history);
  return 0;
}

/// As on a read-only medium: neither the file nor its folder may be written.
static void
an_old_read_only_one_can_be_looked_at(void** const state)
{
  (void)state;
  SrHistory* const history = made_history_open();
  SrPhrase* const phrase = made_phrase("Old", 0);
  char* const takes = folder_path(home.folder, "takes");
  char* const take = folder_path(takes, "old.flac");
  assert_int_equal(mkdir(takes, 0700), 0);
  made_round_add(history, phrase, &(MadeRound){.bpm = 90.0}, 20000, 0, take);
  sr_phrase_del(phrase);
  sr_history_close(history);
  made_sql(home.path, "DROP TABLE unfinished; PRAGMA user_version = 2");
  assert_int_equal(chmod(home.path, 0400), 0);
  if (geteuid() == 0) {
    assert_int_equal(chown(home.data, 65534, 65534), 0);
    assert_int_equal(chown(home.folder, 65534, 65534), 0);
    assert_int_equal(chown(home.path, 65534, 65534), 0);
    assert_int_equal(chown(takes, 65534, 65534), 0);
  }
  assert_int_equal(chmod(home.folder, 0500), 0);
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    _exit(look_at_old_one());
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_int_equal(chmod(home.folder, 0700), 0);
  if (WIFEXITED(status) && WEXITSTATUS(status) == 77) {
    skip();
  }
  assert_int_equal(status, 0);
  assert_int_equal(made_sql_number(home.path, "PRAGMA user_version"), 2);
  unlink(home.path);
  rmdir(takes);
  free(take);
  free(takes);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_damaged_file_is_set_aside),
      cmocka_unit_test(a_newer_version_is_never_touched),
      cmocka_unit_test(a_read_only_file_is_set_aside),
      cmocka_unit_test(an_old_read_only_one_can_be_looked_at),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
