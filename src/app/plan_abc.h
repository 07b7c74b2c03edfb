// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_PLAN_ABC_H
#define SR_APP_PLAN_ABC_H

#include <steadyreed/plan.h>

#include <stdio.h>

/**
   Write the ABC file of a phrase with the plan in it, as annotations that any ABC program prints:
   the button over each note ("^L2-3") and that of its cut or strike ("^(L2-4)"), the direction
   under it where it turns, and "air" where air is taken. A repeated note that is played in two ways
   has both, in playing order.

   @param path      Where the phrase was read; "-" is not a file.
   @param choice    What of it was read.
   @param more_cuts The style by which to offer a variation, NULL for none: a cut on each repeated
   note and on each first note of a bar that has none and is long enough, if the plan has a button
   for it that sounds a note of the tune.
   @return SR_OK, SR_NOT_FOUND or SR_NO_MEMORY.
*/
SrStatus sr_plan_write_abc(FILE* stream, const char* path, const SrPhraseChoice* choice,
                           const SrPhrase* phrase, const SrInstrument* instrument,
                           const SrPlan* plan, const SrPlanStyle* more_cuts, SrError* error);

#endif // SR_APP_PLAN_ABC_H
