// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file homes.h
   Whether a button is where a player usually plays a pitch.
*/

#ifndef SR_PLAN_HOMES_H
#define SR_PLAN_HOMES_H

#include <steadyreed/plan.h>

/// How much at home a button is.
typedef enum { SR_AT_HOME, SR_AT_SECOND_HOME, SR_AWAY } SrHomeRank;

/// Semitones from a C and G instrument up to this one; 0 if it has no button L2-3 to tell by.
int sr_homes_transposed(const SrInstrument* instrument);
/**
   Rank of a button that sounds a pitch in a direction.

   @param transposed From sr_homes_transposed().
*/
SrHomeRank sr_homes_rank(const SrPlanStyle* style, const SrInstrument* instrument, int transposed,
                         int midi, size_t button, SrDirection direction);

#endif // SR_PLAN_HOMES_H
