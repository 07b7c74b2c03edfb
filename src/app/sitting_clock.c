// SPDX-License-Identifier: GPL-3.0-or-later

#include "sitting_clock.h"

#include <steadyreed/today.h>

#include <math.h>
#include <stdlib.h>
#include <time.h>

static int
compare_rounds(const void* const one, const void* const other)
{
  const double a = ((const SrSittingRound*)one)->start_s;
  const double b = ((const SrSittingRound*)other)->start_s;
  return (a > b) - (a < b);
}

double
sr_sitting_rounds_s(SrSittingRound* const rounds, const size_t count)
{
  double sat_s = 0.0;
  double until_s = -(double)INFINITY;
  if (count > 0) {
    qsort(rounds, count, sizeof(*rounds), compare_rounds);
  }
  for (size_t i = 0; i < count; ++i) {
    const double silent_s = rounds[i].start_s - until_s;
    const double from_s = silent_s > SR_SITTING_REST_S ? rounds[i].start_s : until_s;
    sat_s += fmax(0.0, rounds[i].end_s - from_s);
    until_s = fmax(until_s, rounds[i].end_s);
  }
  return sat_s;
}

double
sr_sitting_day_s(SrHistory* const history, const SrHistoryPhrase* const phrases, const size_t count,
                 const int day)
{
  SrSittingRound* all = NULL;
  size_t all_count = 0;
  for (size_t i = 0; i < count; ++i) {
    SrHistoryRound* rounds = NULL;
    size_t round_count = 0;
    if (sr_moment_day(phrases[i].last) < day ||
        sr_history_rounds(history, phrases[i].id, day, day, &rounds, &round_count, NULL) != SR_OK) {
      continue;
    }
    SrSittingRound* const more =
        (SrSittingRound*)realloc(all, (all_count + round_count + 1) * sizeof(SrSittingRound));
    all = more ? more : all;
    for (size_t k = 0; more && k < round_count; ++k) {
      const double end_s = (double)rounds[k].moment.utc_ms / 1e3;
      all[all_count++] = (SrSittingRound){end_s - rounds[k].figures.seconds, end_s};
    }
    sr_history_rounds_del(rounds, round_count);
  }
  const double sat_s = sr_sitting_rounds_s(all, all_count);
  free(all);
  return sat_s;
}

SrSittingClock
sr_sitting_clock_begin(void)
{
  SrSittingClock clock = {.sat_s = 0.0};
  SrHistory* history = NULL;
  SrHistoryPhrase* phrases = NULL;
  size_t count = 0;
  if (sr_history_open(NULL, SR_HISTORY_LOOK, &history, NULL) == SR_OK &&
      sr_history_phrases(history, &phrases, &count, NULL) == SR_OK) {
    clock.sat_s = sr_sitting_day_s(history, phrases, count, sr_moment_day(sr_moment_now()));
  }
  sr_history_phrases_del(phrases, count);
  sr_history_close(history);
  return clock;
}

bool
sr_sitting_clock_heard(SrSittingClock* const clock, const double now_s)
{
  const double before_s = clock->sat_s;
  const double silent_s = now_s - clock->heard_s;
  if (clock->heard && silent_s > 0.0 && silent_s <= SR_SITTING_REST_S) {
    clock->sat_s += silent_s;
  }
  clock->heard = true;
  clock->heard_s = now_s;
  return floor(clock->sat_s / SR_TODAY_REST_S) > floor(before_s / SR_TODAY_REST_S);
}

bool
sr_sitting_clock_event(SrSittingClock* const clock, const SrSessionEvent* const event)
{
  // Without a phrase every note is reported; with one, what is no note of it ends with NOTHING
  const bool note = event->kind == SR_SESSION_NOTE || event->kind == SR_SESSION_AMENDED ||
                    event->kind == SR_SESSION_AGAIN || event->kind == SR_SESSION_ROUND ||
                    event->kind == SR_SESSION_NOTHING || event->kind == SR_SESSION_HEARD;
  struct timespec now = {0, 0};
  clock_gettime(CLOCK_MONOTONIC, &now);
  return note && sr_sitting_clock_heard(clock, (double)now.tv_sec + 1e-9 * (double)now.tv_nsec);
}
