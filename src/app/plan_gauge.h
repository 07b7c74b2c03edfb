// SPDX-License-Identifier: GPL-3.0-or-later

// The bellows of one note as a line of characters: an arrow from where it begins to where it ends,
// on a scale that shows no more of the bellows than the phrase uses.

#ifndef SR_APP_PLAN_GAUGE_H
#define SR_APP_PLAN_GAUGE_H

#include <steadyreed/plan.h>

#include <stdio.h>

/// Most columns inside a gauge, without its two ends.
#define SR_GAUGE_MOST 20
/// Least columns.
#define SR_GAUGE_LEAST 9

/// A scale.
typedef struct {
  int low;     ///< Opening at its left end, percent
  int high;    ///< At its right end
  int columns; ///< SR_GAUGE_LEAST to SR_GAUGE_MOST
} SrGauge;

/// A scale for a whole plan, in steps of 10 percent. An end of the bellows that is near is shown.
SrGauge sr_gauge_make(const SrPlan* plan, int columns);
/// Write the names of its two ends over it: "40%", "shut", "full".
void sr_gauge_write_ends(FILE* stream, const SrGauge* gauge);
/// Write a note: ":   -->    :"; "|" is the end of the bellows, ":" only the end of the scale.
void sr_gauge_write(FILE* stream, const SrGauge* gauge, const SrPlannedNote* note);

#endif // SR_APP_PLAN_GAUGE_H
