// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file make_history.c
   Puts an invented month of practice into the usual history, for the window's tests and to look at.

   usage: make_history DAYS

   DAYS back from today a reel is practised as well, four days of seven, at most 3650; 0 for none.
*/

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "invented_month.h"
#include "made_history.h"
#include "run_program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_DAYS 3650

static int days;

// As a test, since what it makes is made with cmocka's assertions
static void
make_all(void** const state)
{
  (void)state;
  const char* const data = getenv("XDG_DATA_HOME");
  assert_non_null(data);
  char* const folder = folder_path(data, "steadyreed");
  char* const takes = folder_path(folder, "takes");
  invented_month(takes);
  free(takes);
  free(folder);
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  SrPhrase* const reel = made_phrase("The Long Way to the Session", 4);
  const int today = sr_moment_day(sr_moment_now());
  for (int i = 0; i < days; ++i) {
    const double done = (double)i / days;
    const MadeRound round = {.bpm = 70.0 + 30.0 * done + i % 3,
                             .joined = (unsigned)(3.0 * (1.0 - done)) * (i % 2 == 0),
                             .spread_ms = 20.0 - 8.0 * done + i % 4,
                             .offset_ms = -8.0 + i % 5};
    if (i % 7 < 4) {
      made_round_add(history, reel, &round, today - days + i, 0, NULL);
    }
  }
  sr_phrase_del(reel);
  sr_history_close(history);
}

int
main(const int argc, char** const argv)
{
  days = argc == 2 ? atoi(argv[1]) : -1;
  if (days < 0 || days > MOST_DAYS) {
    fputs("usage: make_history DAYS\n", stderr);
    return 2;
  }
  const struct CMUnitTest tests[] = {cmocka_unit_test(make_all)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
