// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file drill_climb.h
   A drill that gets faster from day to day, by the rule of the tempo ladder (ladder.h), with all of
   its bars: it begins where it was last clean, and is a little faster only when it is clean.
*/

#ifndef SR_APP_DRILL_CLIMB_H
#define SR_APP_DRILL_CLIMB_H

#include "session_view.h"

#include <steadyreed/ladder.h>

/// A drill on its way.
typedef struct {
  const SrPhrase* phrase;
  SrLadder* ladder;
} SrDrillClimb;

/**
   Begin, and say at which tempo.

   @param climb    Must outlive the series; clear it afterwards.
   @param phrase   The drill.
   @param settings Their target becomes the tempo to begin with. With a target already, or without a
                   click, the drill stays as it is.
   @param series   Its `after_round` and `context` are set here.
   @return False on an error, which is reported.
*/
bool sr_drill_climb_begin(SrDrillClimb* climb, const SrPhrase* phrase, SrSessionSettings* settings,
                          SrSeries* series);
void sr_drill_climb_clear(SrDrillClimb* climb);

#endif // SR_APP_DRILL_CLIMB_H
