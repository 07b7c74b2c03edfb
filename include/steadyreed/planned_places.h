// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file planned_places.h
   Where a plan plays each note, for judging.
*/

#ifndef STEADYREED_PLANNED_PLACES_H
#define STEADYREED_PLANNED_PLACES_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>
#include <steadyreed/plan_wish.h>
#include <steadyreed/setup.h>
#include <steadyreed/status.h>

SR_BEGIN_DECLARATIONS

/**
   Plan a phrase for judging; the phrase then asks for air where the plan takes it.

   @param wish   Layout, style, bellows and pins; NULL for the default ones.
   @param setup  Whose bellows were measured; NULL for the usual ones.
   @param bpm    Pulses a minute, SR_SLOWEST_PLAN_BPM to 400; NAN for the phrase's own.
   @param phrase Modified.
   @param places Receives for each note where the plan plays it, such as "L1-3, draw"; pass it to
                 sr_plan_places_del(). NULL on error.
   @return As sr_plan_wish_read() and sr_plan(). On error the phrase is as it was.
*/
SrStatus sr_plan_places(const SrPlanWish* wish, const SrSetup* setup, double bpm, SrPhrase* phrase,
                        char*** places, SrError* error);

/**
   The same of a plan that there is.

   @param plan, instrument Of this phrase.
   @param phrase, places As for sr_plan_places().
   @return SR_OK or SR_NO_MEMORY; then the phrase is as it was.
*/
SrStatus sr_plan_places_of(const SrPlan* plan, const SrInstrument* instrument, SrPhrase* phrase,
                           char*** places, SrError* error);

/// Free; NULL does nothing.
void sr_plan_places_del(const SrPhrase* phrase, char** places);

SR_END_DECLARATIONS

#endif // STEADYREED_PLANNED_PLACES_H
