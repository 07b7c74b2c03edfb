// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file session_view.h
   Practising a phrase in a terminal, with events as lines of text or as JSON.
*/

#ifndef SR_APP_SESSION_VIEW_H
#define SR_APP_SESSION_VIEW_H

#include "session_series.h"

#include <steadyreed/history.h>
#include <steadyreed/session.h>

#include <stdbool.h>

/// How it is shown.
typedef struct {
  bool json;      ///< Events as JSON lines instead of sentences
  bool all_notes; ///< Report every note, not only mistakes
  bool speak;     ///< Speak the verdict of each round too
} SrPractiseShow;

/**
   Practise until something ends it: rounds, silence, a key, the low note, a system signal, or an
   error.

   @param settings  Its `setup` is read here.
   @param origin    Where the phrase comes from, for the history; see sr_practice_log_begin().
   @param series    If it is one of several: the kept take is then not judged again at the end, and
                    no table shows all rounds. NULL if it is the only one.
   @return An exit status.
*/
int sr_practise(const SrPhrase* phrase, const SrSessionSettings* settings, const SrPractice* origin,
                const SrPractiseShow* how, SrSeries* series);

#endif // SR_APP_SESSION_VIEW_H
