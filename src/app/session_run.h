// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file session_run.h
   Run a session from a terminal: its events go to a view, keys and signals of the system end it.
*/

#ifndef SR_APP_SESSION_RUN_H
#define SR_APP_SESSION_RUN_H

#include <steadyreed/session.h>

#include <stdbool.h>

/// Show an event. Returns false if it can show no more, which ends the session.
typedef bool SrEventView(void* view, const SrSessionEvent* event);

/**
   Open the devices, and run until the session is over.

   @param phrase   As for sr_session_new().
   @param settings As for sr_session_new().
   @param keys     Whether keys and signals of the system are taken care of: q, Escape, Ctrl-C and
                   the like end it. Else the caller has done so, see hands_free.h.
   @param show     Gets each event.
   @param view     Given to it.
   @param profile  Receives what is known of the instrument from all that was heard; NULL if not
                   wanted.
   @return Exit status of what failed in opening, which was said; else that of listening and saving:
           SR_EXIT_DONE, SR_EXIT_NOT_JUDGED or SR_EXIT_DEVICE.
*/
int sr_session_run(const SrPhrase* phrase, const SrSessionSettings* settings, bool keys,
                   SrEventView* show, void* view, SrProfile** profile);

#endif // SR_APP_SESSION_RUN_H
