// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file today_run.h
   Play what was chosen for today: one item after another; the hands stay on the box.
*/

#ifndef SR_APP_TODAY_RUN_H
#define SR_APP_TODAY_RUN_H

#include "plan_options.h"
#include "session_view.h"
#include "today_sources.h"

/// Options for all items.
typedef struct {
  SrSessionSettings session;
  SrPlanOptions plan;
  bool speak;
} SrTodayOptions;

/// Play them, and sum up in a line. Returns an exit status.
int sr_today_play(const SrTodaySources* sources, const SrTodayItem* items, size_t count,
                  const SrTodayOptions* options);

#endif // SR_APP_TODAY_RUN_H
