// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file ladder_climb.h
   The tempo ladder in a terminal: a session for each stretch of bars, one after another; within
   one, only the tempo changes.
*/

#ifndef SR_APP_LADDER_CLIMB_H
#define SR_APP_LADDER_CLIMB_H

#include "plan_options.h"
#include "session_view.h"

/// What is climbed.
typedef struct {
  const char* command; ///< Name of the command, for errors
  const char* path;
  const SrPhraseChoice* choice;
  const SrPlanOptions* plan;         ///< As recalled
  const SrSessionSettings* settings; ///< Their target is the top; NAN for the phrase's own tempo.
                                     ///< `rounds` counts all of them together
  double from_bpm;                   ///< Where it begins; NAN for sr_ladder_start()
} SrLadderClimb;

/**
   Practise until something ends it.

   @param series As for sr_practise(); its `after_round` and `context` are set here. `most_s` counts
                 for all sessions together.
   @return An exit status.
*/
int sr_ladder_climb(const SrLadderClimb* climb, const SrPractiseShow* how, SrSeries* series);

#endif // SR_APP_LADDER_CLIMB_H
