// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_PLAN_JSON_H
#define SR_APP_PLAN_JSON_H

#include <steadyreed/plan.h>

#include <stdio.h>

/**
   Write plans as JSON: "format": "steadyreed-plan", "version": 1, "phrase", "instrument", "style",
   "bpm", "bellows_units", and "plans", each with "cost", "turns", "airs", "reasons" and "notes":
   {"index", "bar", "midi", "button", "hand", "row", "column", "finger", "direction", "cut": null |
   {"button", "midi"}, "before", "after", "air", "turn", "cost", "reason"}.

   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_plan_write_json(FILE* stream, const SrPhrase* phrase, const SrInstrument* instrument,
                            const SrPlanSettings* settings, const SrPlans* plans, SrError* error);

#endif // SR_APP_PLAN_JSON_H
