// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file sitting_clock.h
   How long somebody has sat and played on a day, without the rests: from note to note, except for
   silences over some minutes. After each hour it is time to rest.
*/

#ifndef SR_APP_SITTING_CLOCK_H
#define SR_APP_SITTING_CLOCK_H

#include <steadyreed/history.h>
#include <steadyreed/session.h>

#include <stdbool.h>
#include <stddef.h>

/// A longer silence is a rest, s (common practice, no source).
#define SR_SITTING_REST_S 180.0

/// A clock; all zero for nobody who has played. It runs through several sessions.
typedef struct {
  double sat_s;   ///< In all
  double heard_s; ///< When something was last heard, on any clock
  bool heard;     ///< Something was
} SrSittingClock;

/// Rounds of a day, in any order; times in s.
typedef struct {
  double start_s;
  double end_s;
} SrSittingRound;

/// Time from note to note over these rounds, s; puts them in order.
double sr_sitting_rounds_s(SrSittingRound* rounds, size_t count);
/// The same over the rounds that a history keeps of a day; 0 if it cannot be read.
double sr_sitting_day_s(SrHistory* history, const SrHistoryPhrase* phrases, size_t count, int day);

/// A clock that goes on from what the history keeps of today.
SrSittingClock sr_sitting_clock_begin(void);
/// Something was heard at a time, s. Whether an hour has come full with it.
bool sr_sitting_clock_heard(SrSittingClock* clock, double now_s);
/// Follow an event that has just happened. Whether an hour has come full with it.
bool sr_sitting_clock_event(SrSittingClock* clock, const SrSessionEvent* event);

#endif // SR_APP_SITTING_CLOCK_H
