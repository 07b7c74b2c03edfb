// SPDX-License-Identifier: GPL-3.0-or-later

// A program that adds rounds is killed at any moment, while it creates the history too: whatever
// was acknowledged is there, and the database is whole.

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "made_history.h"
#include "run_program.h"

#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define KILLS 120

/// Shared by the child and the test.
typedef struct {
  atomic_uint acknowledged; ///< Rounds whose call returned SR_OK, over all children
  atomic_uint begun;        ///< Rounds whose call began
} Course;

static char* data;
static char* folder;
static char* path;

/// Add rounds until killed.
static _Noreturn void
add_rounds(Course* const course, const SrPhrase* const phrase)
{
  SrHistory* history = NULL;
  if (sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL) != SR_OK ||
      sr_history_remark(history)) {
    _exit(1);
  }
  const SrPractice practice = {.asked_bpm = 100.0};
  for (;;) {
    const unsigned number = atomic_fetch_add(&course->begun, 1);
    const MadeRound round = {.bpm = 100.0, .joined = number % 7};
    SrAssessment* const assessment = made_assessment(phrase, &round);
    const SrMoment moment = {(int64_t)number * 60000, 0};
    if (sr_history_add_round(history, phrase, assessment, 0, &practice, "{}", &moment, NULL) !=
        SR_OK) {
      _exit(2);
    }
    made_assessment_del(assessment);
    atomic_fetch_add(&course->acknowledged, 1);
  }
}

/// Wait until so many rounds are acknowledged, however busy the machine.
static void
wait_for(Course* const course, const unsigned rounds)
{
  const struct timespec moment = {0, 100000};
  for (unsigned tries = 0; tries < 200000 && atomic_load(&course->acknowledged) < rounds; ++tries) {
    nanosleep(&moment, NULL);
  }
}

static void
killed_at_any_moment(void** const state)
{
  (void)state;
  Course* const course =
      mmap(NULL, sizeof(Course), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  assert_true(course != MAP_FAILED);
  memset(course, 0, sizeof(*course));
  SrPhrase* const phrase = made_phrase("The Wet Gate", 0);
  uint32_t random = 7u;
  unsigned before = 0;
  unsigned unanswered = 0;
  unsigned extra = 0; // Rounds kept and not acknowledged so far
  unsigned began = 0;
  unsigned in_creation = 0;
  for (unsigned k = 0; k < KILLS; ++k) {
    // Every third time there is no history yet, so that the kill meets its creation
    if (k % 3 == 0) {
      folder_remove(folder);
      memset(course, 0, sizeof(*course));
      before = extra = 0;
    }
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
      add_rounds(course, phrase);
    }
    random = random * 1664525u + 1013904223u;
    wait_for(course, k % 3 ? before + k % 3 : 0);
    // … and up to 20 ms later
    const long most_ns = 20000000;
    const struct timespec wait = {0, (long)((random >> 8) % 1000u) * (most_ns / 1000)};
    nanosleep(&wait, NULL);
    assert_int_equal(kill(child, SIGKILL), 0);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    // It did not end by itself: no call failed
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);

    SrHistory* history = NULL;
    assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
    assert_null(sr_history_remark(history));
    sr_history_close(history);
    assert_true(made_sql_is_whole(path));
    const unsigned acknowledged = atomic_load(&course->acknowledged);
    const long long kept = made_sql_number(path, "SELECT count(*) FROM round");
    // One more round of this child may be there without an answer
    assert_in_range(kept, acknowledged + extra, acknowledged + extra + 1);
    assert_int_equal(made_sql_number(path, "SELECT total(rounds) FROM practice_day"), kept);
    assert_int_equal(made_sql_number(path, "SELECT count(*) FROM bar"), 3 * kept);
    assert_int_equal(made_sql_number(path, "SELECT count(*) FROM assessment"), kept);
    unanswered += kept > acknowledged + extra;
    extra = (unsigned)kept - acknowledged;
    began += acknowledged > before;
    in_creation += k % 3 == 0 && acknowledged == 0;
    before = acknowledged;
  }
  print_message("%d kills; %u in or before the creation, %u while rounds were added, %u with a "
                "round that was kept and not acknowledged\n",
                KILLS, in_creation, began, unanswered);
  // Else nothing was tested
  assert_true(began > KILLS / 4);
  sr_phrase_del(phrase);
  munmap(course, sizeof(Course));
}

int
main(void)
{
  data = folder_make();
  folder = folder_path(data, "steadyreed");
  path = folder_path(folder, "history.sqlite");
  setenv("XDG_DATA_HOME", data, 1);
  const struct CMUnitTest tests[] = {cmocka_unit_test(killed_at_any_moment)};
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  folder_remove(folder);
  folder_remove(data);
  free(path);
  free(folder);
  free(data);
  return failed;
}
