// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_PLAN_JOINS_H
#define SR_APP_PLAN_JOINS_H

#include <steadyreed/plan.h>

#include <stdio.h>

/// Number of joins drilled.
#define SR_JOINS 2

/**
   Write the hardest joins of a planned phrase as short repeated drills: each in the fingering of
   the first plan and, if another plan plays it differently, also in that. Hardness is the plan's
   cost plus the faults in an assessment.

   @param take An assessment as JSON (steadyreed-assessment); NULL for none.
   @return SR_OK; what sr_past_faults_add() returns for the assessment; SR_NO_MEMORY.
*/
SrStatus sr_plan_write_joins(FILE* stream, const SrPhrase* phrase, const SrInstrument* instrument,
                             const SrPlanSettings* settings, const SrPlans* plans, const char* take,
                             SrError* error);

#endif // SR_APP_PLAN_JOINS_H
