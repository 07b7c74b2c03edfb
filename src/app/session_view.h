// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file session_view.h
   A phrase is practised in a terminal: what happens is said in lines, or written as JSON.
*/

#ifndef SR_APP_SESSION_VIEW_H
#define SR_APP_SESSION_VIEW_H

#include <steadyreed/session.h>

#include <stdbool.h>

/**
   Practise until it ends: by rounds, silence, a key, the low note, a signal of the system, or
   trouble.

   @param settings  Its `setup` is read here.
   @param json      Events as JSON lines instead of sentences.
   @param all_notes Tell of each note, not only of what went wrong.
   @return An exit status.
*/
int sr_practise(const SrPhrase* phrase, const SrSessionSettings* settings, bool json,
                bool all_notes);

#endif // SR_APP_SESSION_VIEW_H
