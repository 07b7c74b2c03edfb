// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_PLAN_PLACES_H
#define SR_APP_PLAN_PLACES_H

#include <steadyreed/phrase.h>

/**
   Plan a phrase for judging; the phrase then asks for air where the plan takes it.

   @param layout As for sr_layout_read().
   @param bpm    Pulses a minute; NAN for the phrase's own.
   @param places Receives for each note where the plan plays it, such as "L1-3, draw"; pass it to
                 sr_plan_places_del(). NULL on error.
*/
SrStatus sr_plan_places(const char* layout, double bpm, SrPhrase* phrase, char*** places,
                        SrError* error);

/// Free; NULL does nothing.
void sr_plan_places_del(const SrPhrase* phrase, char** places);

#endif // SR_APP_PLAN_PLACES_H
