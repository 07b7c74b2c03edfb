// SPDX-License-Identifier: GPL-3.0-or-later

#include "item_clock.h"

/// Once its time is over, whoever plays on without a pause has this long, s.
#define MOST_OVER_S 60.0

bool
sr_item_clock_event(SrItemClock* const clock, const SrSessionEvent* const event,
                    const bool voice_sounds)
{
  bool over = false;
  clock->stopped = clock->stopped && event->kind != SR_SESSION_READY;
  // What is saved after a session has stopped is in the time before already
  clock->spent_s = clock->before_s + (clock->stopped ? 0.0 : event->at_s);
  if (event->kind == SR_SESSION_NOTE || event->kind == SR_SESSION_AMENDED ||
      event->kind == SR_SESSION_AGAIN) {
    clock->in_round = true;
  } else if (event->kind == SR_SESSION_READY || event->kind == SR_SESSION_ROUND ||
             event->kind == SR_SESSION_NOTHING) {
    clock->in_round = false;
  } else if (event->kind == SR_SESSION_LEVEL) {
    const double over_s = clock->spent_s - clock->most_s;
    const bool rests = event->level.idle && !clock->in_round && !voice_sounds;
    over = (over_s > 0.0 && rests) || over_s > MOST_OVER_S;
  } else if (event->kind == SR_SESSION_STOPPED) {
    clock->before_s = clock->spent_s;
    clock->stopped = true;
  }
  return over;
}
