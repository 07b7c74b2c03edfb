// SPDX-License-Identifier: GPL-3.0-or-later

// Several programs use one history at once.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_history.h"
#include "run_program.h"

#include <steadyreed/kept_takes.h>
#include <steadyreed/progress.h>

#include <limits.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#define PROGRAMS 3
#define ROUNDS 150

static char* data;
static char* folder;
static char* path;

/// One program: adds rounds, and looks at progress between them. Exit status.
static int
practise(const int number)
{
  SrHistory* history = NULL;
  if (sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL) != SR_OK ||
      sr_history_remark(history)) {
    return 1;
  }
  SrPhrase* const phrase = made_phrase("The Wet Gate", number % 2);
  const SrPractice practice = {.asked_bpm = 100.0};
  for (int i = 0; i < ROUNDS; ++i) {
    const MadeRound round = {.bpm = 100.0};
    SrAssessment* const assessment = made_assessment(phrase, &round);
    const SrMoment moment = {(int64_t)i * 86400000, 0};
    if (sr_history_add_round(history, phrase, assessment, 0, &practice, NULL, &moment, NULL) !=
        SR_OK) {
      return 2;
    }
    made_assessment_del(assessment);
    SrPhraseProgress* progress = NULL;
    size_t count = 0;
    if (i % 10 == 0 && sr_progress_read(history, INT_MIN, NULL, &progress, &count, NULL) != SR_OK) {
      return 3;
    }
    sr_progress_del(progress, count);
  }
  sr_phrase_del(phrase);
  sr_history_close(history);
  return 0;
}

static void
all_rounds_of_all_programs_are_kept(void** const state)
{
  (void)state;
  pid_t children[PROGRAMS];
  for (int i = 0; i < PROGRAMS; ++i) {
    children[i] = fork();
    assert_true(children[i] >= 0);
    if (children[i] == 0) {
      _exit(practise(i));
    }
  }
  for (int i = 0; i < PROGRAMS; ++i) {
    int status = 0;
    assert_int_equal(waitpid(children[i], &status, 0), children[i]);
    assert_int_equal(status, 0);
  }
  assert_true(made_sql_is_whole(path));
  assert_int_equal(made_sql_number(path, "SELECT count(*) FROM round"), PROGRAMS * ROUNDS);
  assert_int_equal(made_sql_number(path, "SELECT sum(rounds) FROM practice_day"),
                   PROGRAMS * ROUNDS);
  assert_int_equal(made_sql_number(path, "SELECT count(*) FROM phrase"), 2);
}

/// One that writes and does not end: the other is told after its wait, and goes on later.
static void
one_that_hangs_is_waited_for(void** const state)
{
  (void)state;
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  sqlite3* other = NULL;
  assert_int_equal(sqlite3_open(path, &other), SQLITE_OK);
  assert_int_equal(sqlite3_exec(other, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  const MadeRound round = {.bpm = 100.0};
  SrAssessment* const assessment = made_assessment(phrase, &round);
  const SrPractice practice = {.asked_bpm = 100.0};
  SrError error = {0};
  assert_int_equal(
      sr_history_add_round(history, phrase, assessment, 0, &practice, NULL, NULL, &error),
      SR_WRITE_FAILED);
  assert_non_null(strstr(error.message, "in use"));
  // Reading does not wait
  SrPhraseProgress* progress = NULL;
  size_t count = 0;
  assert_int_equal(sr_progress_read(history, INT_MIN, NULL, &progress, &count, NULL), SR_OK);
  sr_progress_del(progress, count);
  assert_int_equal(sqlite3_exec(other, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
  sqlite3_close(other);
  assert_int_equal(
      sr_history_add_round(history, phrase, assessment, 0, &practice, NULL, NULL, &error), SR_OK);
  made_assessment_del(assessment);
  sr_phrase_del(phrase);
  sr_history_close(history);
}

/// Both find the same damage at once: one moves it aside, and both use the new one.
static void
damage_is_set_aside_once(void** const state)
{
  (void)state;
  for (int round = 0; round < 10; ++round) {
    folder_remove(folder);
    SrHistory* history = NULL;
    assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
    sr_history_close(history);
    file_put(path, "damage, and enough of it to be no empty file");
    pid_t children[PROGRAMS];
    for (int i = 0; i < PROGRAMS; ++i) {
      children[i] = fork();
      assert_true(children[i] >= 0);
      if (children[i] == 0) {
        SrHistory* own = NULL;
        SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
        const MadeRound made = {.bpm = 100.0};
        if (sr_history_open(NULL, SR_HISTORY_RECORD, &own, NULL) != SR_OK) {
          _exit(1);
        }
        made_round_add(own, phrase, &made, i, 0, NULL);
        sr_history_close(own);
        _exit(0);
      }
    }
    for (int i = 0; i < PROGRAMS; ++i) {
      int status = 0;
      assert_int_equal(waitpid(children[i], &status, 0), children[i]);
      assert_int_equal(status, 0);
    }
    assert_int_equal(made_sql_number(path, "SELECT count(*) FROM round"), PROGRAMS);
    char* const first = folder_path(folder, "history.sqlite.damaged-1");
    char* const second = folder_path(folder, "history.sqlite.damaged-2");
    assert_int_equal(access(first, F_OK), 0);
    assert_int_equal(access(second, F_OK), -1);
    free(first);
    free(second);
  }
}

int
main(void)
{
  data = folder_make();
  folder = folder_path(data, "steadyreed");
  path = folder_path(folder, "history.sqlite");
  setenv("XDG_DATA_HOME", data, 1);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_rounds_of_all_programs_are_kept),
      cmocka_unit_test(one_that_hangs_is_waited_for),
      cmocka_unit_test(damage_is_set_aside_once),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  folder_remove(folder);
  folder_remove(data);
  free(path);
  free(folder);
  free(data);
  return failed;
}
