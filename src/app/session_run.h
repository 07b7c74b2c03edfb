// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file session_run.h
   Run a session from a terminal: events go to a view; keys and system signals end it.
*/

#ifndef SR_APP_SESSION_RUN_H
#define SR_APP_SESSION_RUN_H

#include <steadyreed/session.h>

#include <stdbool.h>

/// Show an event, and send what commands it calls for. Returns false if no more can be shown, which
/// ends the session.
typedef bool SrEventView(void* view, SrSession* session, const SrSessionEvent* event);

/**
   Open the devices and run until the session is over.

   @param phrase   As for sr_session_new().
   @param settings As for sr_session_new().
   @param keys     Whether to handle keys and system signals: q, Escape, Ctrl-C and the like end it,
                   a pedal's keys do what keys.h says. If not, the caller does so, see hands_free.h.
   @param show     Called for each event.
   @param view     Passed to it.
   @param profile  Receives what was learnt of the instrument from everything heard; NULL if not
                   wanted.
   @return Exit status of an error in opening, which was reported; otherwise of listening and
           saving: SR_EXIT_DONE, SR_EXIT_NOT_JUDGED or SR_EXIT_DEVICE.
*/
int sr_session_run(const SrPhrase* phrase, const SrSessionSettings* settings, bool keys,
                   SrEventView* show, void* view, SrProfile** profile);

#endif // SR_APP_SESSION_RUN_H
