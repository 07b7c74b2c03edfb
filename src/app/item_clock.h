// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file item_clock.h
   The time for one of several things that are practised in a row: it is over at the next pause in
   the playing, in a terminal and in the window alike.
*/

#ifndef SR_APP_ITEM_CLOCK_H
#define SR_APP_ITEM_CLOCK_H

#include <steadyreed/session.h>

#include <stdbool.h>

/// A clock; zero but `most_s` to begin with. It may run through several sessions.
typedef struct {
  double most_s;   ///< Time for all of it, s; may be INFINITY
  double before_s; ///< In sessions that have ended
  double spent_s;  ///< In all of them so far
  bool in_round;
  bool stopped; ///< The session has, and only reports the rest
} SrItemClock;

/**
   Follow an event.

   @param voice_sounds The voice speaks, or is about to.
   @return Whether the session is to end: its time is over, and the player rests; or has played on
           without a pause for a minute since.
*/
bool sr_item_clock_event(SrItemClock* clock, const SrSessionEvent* event, bool voice_sounds);

#endif // SR_APP_ITEM_CLOCK_H
