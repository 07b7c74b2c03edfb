// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file session_view.h
   Practising a phrase in a terminal, with events as lines of text or as JSON.
*/

#ifndef SR_APP_SESSION_VIEW_H
#define SR_APP_SESSION_VIEW_H

#include <steadyreed/history.h>
#include <steadyreed/session.h>

#include <stdbool.h>

/**
   Practise until something ends it: rounds, silence, a key, the low note, a system signal, or an
   error.

   @param settings  Its `setup` is read here.
   @param origin    Where the phrase comes from, for the history; see sr_practice_log_begin().
   @param json      Events as JSON lines instead of sentences.
   @param all_notes Report every note, not only mistakes.
   @param speak     Speak the verdict of each round too.
   @return An exit status.
*/
int sr_practise(const SrPhrase* phrase, const SrSessionSettings* settings, const SrPractice* origin,
                bool json, bool all_notes, bool speak);

#endif // SR_APP_SESSION_VIEW_H
