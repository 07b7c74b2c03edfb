// SPDX-License-Identifier: GPL-3.0-or-later

// A disk that is full, or a limit on the size of files: what was acknowledged stays, the player is
// told, and later rounds are kept once there is room.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_history.h"
#include "run_program.h"

#include <fcntl.h>
#include <sched.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

static char* data;
static char* folder;
static char* path;

/// Add a round; its outcome.
static SrStatus
add(SrHistory* const history, const SrPhrase* const phrase, SrError* const error)
{
  const MadeRound round = {.bpm = 100.0};
  SrAssessment* const assessment = made_assessment(phrase, &round);
  static char json[4000];
  memset(json, ' ', sizeof(json) - 1);
  json[0] = '{';
  json[sizeof(json) - 2] = '}';
  const SrPractice practice = {.asked_bpm = 100.0};
  const SrStatus status =
      sr_history_add_round(history, phrase, assessment, 0, &practice, json, NULL, error);
  made_assessment_del(assessment);
  return status;
}

/// Add rounds until it fails. How many were acknowledged.
static long long
add_until_full(SrHistory* const history, const SrPhrase* const phrase, SrError* const error)
{
  for (long long count = 0; count < 100000; ++count) {
    if (add(history, phrase, error) != SR_OK) {
      return count;
    }
  }
  fail_msg("it never became full");
  return 0;
}

static void
limit_of_file_size(void** const state)
{
  (void)state;
  signal(SIGXFSZ, SIG_IGN);
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  struct rlimit before;
  assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
  const struct rlimit little = {1000000, before.rlim_max};
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &little), 0);
  SrError error = {0};
  const long long count = add_until_full(history, phrase, &error);
  // It stays so, and says so each time
  assert_int_equal(add(history, phrase, &error), SR_WRITE_FAILED);
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
  assert_int_equal(error.status, SR_WRITE_FAILED);
  assert_string_equal(error.file, path);
  print_message("%lld rounds, then: %s\n", count, error.message);
  assert_true(count > 20);
  assert_true(made_sql_is_whole(path));
  assert_int_equal(made_sql_number(path, "SELECT count(*) FROM round"), count);
  // With room again it goes on
  assert_int_equal(add(history, phrase, &error), SR_OK);
  sr_history_close(history);
  assert_int_equal(made_sql_number(path, "SELECT count(*) FROM round"), count + 1);
  sr_phrase_del(phrase);
}

/// Write a text to a file of /proc.
static bool
tell_kernel(const char* const file, const char* const text)
{
  const int descriptor = open(file, O_WRONLY | O_CLOEXEC);
  const bool good =
      descriptor >= 0 && write(descriptor, text, strlen(text)) == (ssize_t)strlen(text);
  if (descriptor >= 0) {
    close(descriptor);
  }
  return good;
}

/// A disk of our own, seen by this process only. False if the system lets us have none.
static bool
mount_small_disk(void)
{
  char user[64];
  char group[64];
  snprintf(user, sizeof(user), "0 %u 1", (unsigned)getuid());
  snprintf(group, sizeof(group), "0 %u 1", (unsigned)getgid());
  if (unshare(CLONE_NEWNS)) {
    if (unshare(CLONE_NEWUSER | CLONE_NEWNS) || !tell_kernel("/proc/self/uid_map", user) ||
        !tell_kernel("/proc/self/setgroups", "deny") || !tell_kernel("/proc/self/gid_map", group)) {
      return false;
    }
  }
  return !mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) &&
         !mount("small", folder, "tmpfs", MS_NOSUID | MS_NODEV, "size=1m,mode=0700");
}

static void
small_disk(void** const state)
{
  (void)state;
  folder_remove(folder);
  assert_int_equal(mkdir(folder, 0700), 0);
  if (!mount_small_disk()) {
    print_message("No small disk may be mounted here.\n");
    skip();
  }
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  SrError error = {0};
  const long long count = add_until_full(history, phrase, &error);
  print_message("%lld rounds, then: %s\n", count, error.message);
  assert_int_equal(error.status, SR_WRITE_FAILED);
  assert_non_null(strstr(error.message, "disk is full"));
  assert_true(count > 20);
  sr_history_close(history);
  // Opened again without any room, it may be refused, but nothing is lost or set aside
  const SrStatus again = sr_history_open(NULL, SR_HISTORY_RECORD, &history, &error);
  assert_true(again == SR_OK || again == SR_WRITE_FAILED);
  sr_history_close(history);
  char* const aside = folder_path(folder, "history.sqlite.damaged-1");
  assert_int_equal(access(aside, F_OK), -1);
  free(aside);
  assert_int_equal(mount("small", folder, "tmpfs", MS_REMOUNT | MS_NOSUID | MS_NODEV, "size=2m"),
                   0);
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, &error), SR_OK);
  assert_null(sr_history_remark(history));
  sr_history_close(history);
  assert_true(made_sql_is_whole(path));
  assert_int_equal(made_sql_number(path, "SELECT count(*) FROM round"), count);

  // No room even for an empty one
  assert_int_equal(unlink(path), 0);
  char* const filler = folder_path(folder, "filler");
  const int descriptor = open(filler, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
  assert_true(descriptor >= 0);
  static const char page[4096];
  while (write(descriptor, page, sizeof(page)) > 0) {
  }
  close(descriptor);
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, &error), SR_WRITE_FAILED);
  assert_null(history);
  assert_non_null(strstr(error.message, "disk is full"));
  assert_int_equal(unlink(filler), 0);
  free(filler);
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, &error), SR_OK);
  assert_null(sr_history_remark(history));
  assert_int_equal(add(history, phrase, &error), SR_OK);
  sr_history_close(history);
  sr_phrase_del(phrase);
  folder_remove(folder);
  assert_int_equal(umount2(folder, MNT_DETACH), 0);
}

int
main(void)
{
  data = folder_make();
  folder = folder_path(data, "steadyreed");
  path = folder_path(folder, "history.sqlite");
  setenv("XDG_DATA_HOME", data, 1);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(limit_of_file_size),
      cmocka_unit_test(small_disk),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  folder_remove(folder);
  folder_remove(data);
  free(path);
  free(folder);
  free(data);
  return failed;
}
