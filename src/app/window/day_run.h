// SPDX-License-Identifier: GPL-3.0-or-later

// Today's items in the window, played one after another; the hands stay on the box.

#ifndef SR_WINDOW_DAY_RUN_H
#define SR_WINDOW_DAY_RUN_H

#include "practise_window.h"

#include <stdbool.h>

typedef struct SrDayRunImpl SrDayRun;

/// Show what is chosen for today, from where it begins.
void sr_day_run_choose(SrPractiseWindow* window);
/// Whether items are being played, or pause.
bool sr_day_run_is_active(const SrPractiseWindow* window);
/// Whether an item is over, and another follows at once.
bool sr_day_run_goes_on(const SrPractiseWindow* window);
/// Go on to the next item. Does nothing without any.
void sr_day_run_next(SrPractiseWindow* window);
/// End it, and sum it up. Does nothing without one.
void sr_day_run_stop(SrPractiseWindow* window);
/// Play no items any more, for something else was chosen: nothing is summed up, and what was
/// chosen before stays chosen. Settings are those from before. Does nothing without items.
void sr_day_run_leave(SrPractiseWindow* window);
/// Put what is otherwise while items are played back as it was before, in a copy. Does nothing
/// without items.
void sr_day_run_restore(const SrPractiseWindow* window, SrSessionSettings* settings,
                        gboolean* click);
/// A session begins: a summary that is still shown goes.
void sr_day_run_forget(SrPractiseWindow* window);
/// Show what the window shows of it.
void sr_day_run_update(SrPractiseWindow* window);
/// Say what comes next, during the pause before an item. Whether there is one.
bool sr_day_run_say_pause(SrPractiseWindow* window);
/// Sum up, once all is over. Whether it is.
bool sr_day_run_say_sum(SrPractiseWindow* window);

#endif // SR_WINDOW_DAY_RUN_H
