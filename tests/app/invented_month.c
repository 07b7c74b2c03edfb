// SPDX-License-Identifier: GPL-3.0-or-later

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "invented_month.h"

#include "made_history.h"
#include "run_program.h"

#include <steadyreed/kept_takes.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

static void
put_take(SrHistory* const history, const char* const take, const size_t bytes)
{
  FILE* const stream = fopen(take, "w");
  assert_non_null(stream);
  for (size_t i = 0; i < bytes; ++i) {
    fputc('x', stream);
  }
  assert_int_equal(fclose(stream), 0);
  assert_int_equal(sr_history_take_saved(history, take, NULL), SR_OK);
}

void
invented_month(const char* const takes)
{
  SrHistory* history = NULL;
  assert_int_equal(sr_history_open(NULL, SR_HISTORY_RECORD, &history, NULL), SR_OK);
  mkdir(takes, 0700);
  SrPhrase* const jig = made_phrase("The Lamp in the Porch", 0);
  SrPhrase* const reel = made_phrase("A \033[31mReel\033[0m of F\xE2\x99\xAF", 2);
  SrPhrase* const drill = made_phrase("First Cuts", 5);
  SrPhrase* const old = made_phrase("Long Ago", 7);
  const int today = sr_moment_day(sr_moment_now());
  for (int i = 0; i < INVENTED_DAYS; ++i) {
    const int day = today - INVENTED_DAYS + 1 + i;
    char name[64];
    snprintf(name, sizeof(name), "day-%02d.flac", i);
    char* const take = folder_path(takes, name);
    for (int r = 0; r < 4; ++r) {
      // From four faulty cuts of six to none
      const MadeRound round = {.bpm = 84.0 + i / 4,
                               .joined = (unsigned)((INVENTED_DAYS - i) / 5) + (r == 0),
                               .spread_ms = 10.0 + (i * 7 + r) % 5,
                               .offset_ms = -6.0 + (i * 5) % 3,
                               .alone_ms = 20.0 + (i * 11 + r) % 7,
                               .air = 2,
                               .heard = (unsigned)(i * 3 + r) % 3 == 0};
      made_round_add(history, jig, &round, day, r, take);
      const MadeRound other = {.bpm = 100.0,
                               .joined = (unsigned)(i * 5 + r) % 4,
                               .spread_ms = 9.0 + (i * 3 + r) % 4,
                               .offset_ms = (double)NAN};
      if (i % 2) {
        made_round_add(history, reel, &other, day, 30 + r, NULL);
      }
      if (i > INVENTED_DAYS - 3) {
        made_round_add(history, drill, &other, day, 60 + r, NULL);
      }
    }
    put_take(history, take, 100000);
    free(take);
  }
  const MadeRound round = {.bpm = 70.0};
  made_round_add(history, old, &round, today - 200, 0, NULL);
  sr_phrase_del(jig);
  sr_phrase_del(reel);
  sr_phrase_del(drill);
  sr_phrase_del(old);
  sr_history_close(history);
}
