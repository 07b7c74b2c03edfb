// SPDX-License-Identifier: GPL-3.0-or-later

// Rounds go into the history in order, without the front end waiting for a database in use.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "history_home.h"
#include "history_queue.h"
#include "made_history.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static MadeHome home;
static char said[512];

static void
hear(void* const context, const char* const text)
{
  (void)context;
  snprintf(said, sizeof(said), "%s", text);
}

/// Another program that has the database locked until it is told to end.
typedef struct {
  pid_t process;
  int to; ///< Closing it ends the program
} Holder;

static Holder
hold_database(void)
{
  int locked[2];
  int end[2];
  assert_int_equal(pipe(locked), 0);
  assert_int_equal(pipe(end), 0);
  const pid_t process = fork();
  assert_true(process >= 0);
  char byte = 0;
  if (process == 0) {
    close(end[1]);
    sqlite3* database = NULL;
    if (sqlite3_open(home.path, &database) != SQLITE_OK ||
        sqlite3_exec(database, "BEGIN EXCLUSIVE", NULL, NULL, NULL) != SQLITE_OK ||
        write(locked[1], "l", 1) != 1) {
      _exit(1);
    }
    (void)!read(end[0], &byte, 1);
    _exit(sqlite3_exec(database, "ROLLBACK", NULL, NULL, NULL) != SQLITE_OK);
  }
  close(locked[1]);
  close(end[0]);
  assert_int_equal(read(locked[0], &byte, 1), 1);
  close(locked[0]);
  return (Holder){process, end[1]};
}

static void
release_database(const Holder* const holder)
{
  close(holder->to);
  int status = 0;
  assert_int_equal(waitpid(holder->process, &status, 0), holder->process);
  assert_int_equal(status, 0);
}

static void
let_go_of_assessment(void* const assessment)
{
  made_assessment_del((SrAssessment*)assessment);
}

static void
play_round(SrHistoryQueue* const queue, const SrPhrase* const phrase, const double bpm)
{
  const MadeRound made = {.bpm = bpm};
  SrAssessment* const assessment = made_assessment(phrase, &made);
  const SrSessionEvent event = {.kind = SR_SESSION_ROUND, .round = {.assessment = assessment}};
  sr_history_queue_event(queue, &event, assessment, let_go_of_assessment);
}

static void
begin(SrHistoryQueue* const queue, const SrPhrase* const phrase, const double bpm)
{
  const SrSessionSettings settings = sr_session_settings_default();
  const SrPractice origin = {.file = "made.abc"};
  sr_history_queue_begin(queue, phrase, &settings, &origin, NULL, NULL);
  char path[] = "/nowhere/take.wav";
  const SrSessionEvent ready = {.kind = SR_SESSION_READY, .ready = {.bpm = bpm, .path = path}};
  sr_history_queue_event(queue, &ready, NULL, NULL);
  // The session may be gone before its rounds are written
  memset(path, '?', sizeof(path) - 1);
}

static void
a_database_in_use_holds_up_nobody(void** const state)
{
  (void)state;
  SrHistory* const history = made_history_open();
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  SrHistoryQueue* const queue = sr_history_queue_new(hear, NULL);
  const Holder holder = hold_database();
  begin(queue, phrase, 90.0);
  play_round(queue, phrase, 91.0);
  sr_history_queue_click(queue, SR_CLICK_NONE);
  play_round(queue, phrase, 92.0);
  const SrSessionEvent tempo = {.kind = SR_SESSION_TEMPO, .bpm = 95.0};
  sr_history_queue_event(queue, &tempo, NULL, NULL);
  play_round(queue, phrase, 93.0);
  const SrSessionEvent nothing = {.kind = SR_SESSION_NOTHING,
                                  .nothing = {.notes = 6, .start_s = 10.0, .end_s = 12.5}};
  sr_history_queue_event(queue, &nothing, NULL, NULL);
  sr_history_queue_end(queue);
  // Had any of these waited, it would have given up: the lock is released only now
  assert_int_equal(made_round_count(history), 0);
  release_database(&holder);
  sr_history_queue_finish(queue);
  while (g_main_context_iteration(NULL, FALSE)) {
  }
  assert_string_equal(said, "");
  assert_int_equal(made_round_count(history), 3);
  assert_int_equal(made_sql_number(home.path, "SELECT count(*) FROM round WHERE id = 1 AND "
                                              "click = 'pulses' AND asked_bpm = 90.0"),
                   1);
  assert_int_equal(made_sql_number(home.path, "SELECT count(*) FROM round WHERE id = 2 AND "
                                              "click = 'none' AND asked_bpm = 90.0"),
                   1);
  assert_int_equal(made_sql_number(home.path, "SELECT count(*) FROM round WHERE id = 3 AND "
                                              "click = 'none' AND asked_bpm = 95.0"),
                   1);
  assert_int_equal(made_sql_number(home.path, "SELECT count(*) FROM unfinished WHERE notes = 6 AND "
                                              "seconds = 2.5 AND asked_bpm = 95.0"),
                   1);
  sr_history_queue_del(queue);
  sr_history_close(history);
  sr_phrase_del(phrase);
}

static void
a_failure_is_said_in_the_main_loop(void** const state)
{
  (void)state;
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  SrHistoryQueue* const queue = sr_history_queue_new(hear, NULL);
  made_sql(home.path, "PRAGMA user_version = 99");
  begin(queue, phrase, 90.0);
  play_round(queue, phrase, 91.0);
  sr_history_queue_end(queue);
  sr_history_queue_finish(queue);
  assert_string_equal(said, "");
  while (g_main_context_iteration(NULL, FALSE)) {
  }
  assert_non_null(strstr(said, "will not be in your progress"));
  assert_non_null(strstr(said, "newer Steadyreed"));
  sr_history_queue_del(queue);
  sr_phrase_del(phrase);
}

int
main(void)
{
  home = made_home();
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_database_in_use_holds_up_nobody),
      cmocka_unit_test(a_failure_is_said_in_the_main_loop),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  made_home_remove(&home);
  return failed;
}
