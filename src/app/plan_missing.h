// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_PLAN_MISSING_H
#define SR_APP_PLAN_MISSING_H

#include <steadyreed/plan.h>
#include <steadyreed/show.h>

#include <stdbool.h>
#include <stdio.h>

/// Whether the phrase has a cut or strike there that the plan cannot play.
bool sr_plan_is_missing(const SrPhrase* phrase, const SrPlan* plan, size_t note);

/// Write a sentence about the cuts and strikes that the plan cannot play, after an empty line;
/// nothing if it can play all.
void sr_plan_write_missing(FILE* stream, const SrPhrase* phrase, const SrPlan* plan,
                           const SrShowStyle* style);

/// The same as a remark on standard error.
void sr_plan_say_missing(const SrPhrase* phrase, const SrPlan* plan);

#endif // SR_APP_PLAN_MISSING_H
