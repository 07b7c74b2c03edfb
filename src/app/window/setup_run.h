// SPDX-License-Identifier: GPL-3.0-or-later

// One measuring step of the setup, on a thread of its own; it tells the main loop how it goes.

#ifndef SR_WINDOW_SETUP_RUN_H
#define SR_WINDOW_SETUP_RUN_H

#include <steadyreed/setup_steps.h>

#include <glib-object.h>

G_BEGIN_DECLS

#define SR_TYPE_SETUP_RUN (sr_setup_run_get_type())
G_DECLARE_FINAL_TYPE(SrSetupRun, sr_setup_run, SR, SETUP_RUN, GObject)

/// Signals: "progress" (SrSetupProgress*), "done" once the devices are closed.

/**
   Begin to measure.

   @param stream Copied, with its names of devices.
   @param known  As for sr_setup_measure(); it must stay as it is until "done".
*/
SrSetupRun* sr_setup_run_new(SrSetupStep step, const SrStreamSettings* stream,
                             const SrSetup* known);
/// Wish that it ends; "done" follows.
void sr_setup_run_wish(SrSetupRun* run, SrSetupWish wish);
/// What it found, after "done"; empty on error. Take what it holds with sr_setup_take_over().
SrSetupFound* sr_setup_run_found(SrSetupRun* run);
/// What was wrong, after "done"; NULL if nothing was.
const SrError* sr_setup_run_error(SrSetupRun* run);

G_END_DECLS

#endif // SR_WINDOW_SETUP_RUN_H
