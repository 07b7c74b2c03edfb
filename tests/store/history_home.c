// SPDX-License-Identifier: GPL-3.0-or-later

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "history_home.h"
#include "run_program.h"

#include <limits.h>
#include <stdlib.h>

MadeHome
made_home(void)
{
  MadeHome home = {.data = folder_make()};
  home.folder = folder_path(home.data, "steadyreed");
  home.path = folder_path(home.folder, "history.sqlite");
  assert_int_equal(setenv("XDG_DATA_HOME", home.data, 1), 0);
  return home;
}

void
made_home_remove(MadeHome* const home)
{
  char* const takes = folder_path(home->folder, "takes");
  folder_remove(takes);
  folder_remove(home->folder);
  folder_remove(home->data);
  free(takes);
  free(home->path);
  free(home->folder);
  free(home->data);
}

SrHistory*
made_history_open(void)
{
  SrHistory* history = NULL;
  SrError error = {0};
  if (sr_history_open(NULL, SR_HISTORY_RECORD, &history, &error) != SR_OK) {
    fail_msg("%s", error.message);
  }
  return history;
}

size_t
made_round_count(SrHistory* const history)
{
  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  size_t sum = 0;
  assert_int_equal(sr_history_phrases(history, &phrases, &count, NULL), SR_OK);
  for (size_t i = 0; i < count; ++i) {
    SrHistoryRound* rounds = NULL;
    size_t number = 0;
    assert_int_equal(
        sr_history_rounds(history, phrases[i].id, INT_MIN, INT_MAX, &rounds, &number, NULL), SR_OK);
    sum += number;
    sr_history_rounds_del(rounds, number);
  }
  sr_history_phrases_del(phrases, count);
  return sum;
}
