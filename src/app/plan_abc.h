// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_PLAN_ABC_H
#define SR_APP_PLAN_ABC_H

#include <steadyreed/plan.h>

#include <stdio.h>

/**
   Write the ABC file of a phrase with the plan in it, as annotations that any ABC program prints:
   the button over each note ("^L2-3"), the direction under it where it turns, and "air" where it
   is to be taken. A repeated note that is played in two ways has both, in the order of playing.

   @param path Where the phrase was read; "-" is no file.
   @return SR_OK, SR_NOT_FOUND or SR_NO_MEMORY.
*/
SrStatus sr_plan_write_abc(FILE* stream, const char* path, const SrPhrase* phrase,
                           const SrInstrument* instrument, const SrPlan* plan, SrError* error);

#endif // SR_APP_PLAN_ABC_H
