// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_PLAN_TABLE_H
#define SR_APP_PLAN_TABLE_H

#include <steadyreed/plan.h>
#include <steadyreed/show.h>

/// Write plans as a table of at most 80 columns: the first note by note, for the others what
/// distinguishes them and where they differ.
void sr_plan_write_table(FILE* stream, const SrPhrase* phrase, const SrInstrument* instrument,
                         const SrPlanSettings* settings, const SrPlans* plans,
                         const SrShowStyle* style);

#endif // SR_APP_PLAN_TABLE_H
