// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file practice_log.h
   What a session plays goes into the history, for any front end: pass it each event. No trouble
   with the history stops practice; it is told in one sentence, once.
*/

#ifndef SR_APP_PRACTICE_LOG_H
#define SR_APP_PRACTICE_LOG_H

#include <steadyreed/history.h>
#include <steadyreed/session.h>

#include <stdbool.h>

/// Tell the player something: one or two sentences.
typedef void SrPracticeSay(void* context, const char* text);

typedef struct {
  SrHistory* history; ///< NULL until a session listens, or if there is none
  const SrPhrase* phrase;
  SrPractice practice;
  bool writes;  ///< Something is to be written
  bool silent;  ///< Without a click, the tempo asked for is the one that was named
  bool failed;  ///< A failure was told
  size_t added; ///< Rounds, and an unfinished one
  SrPracticeSay* say;
  void* context;
} SrPracticeLog;

/**
   Begin.

   @param phrase, settings Of the session; they must outlive the log.
   @param origin  Where the phrase comes from and what it is planned for: `file`, `choice`,
   `layout`, `style`; the rest is filled in from the settings and events.
   @param say     Called from sr_practice_log_event(), also with what was pruned.
*/
SrPracticeLog sr_practice_log_begin(const SrPhrase* phrase, const SrSessionSettings* settings,
                                    const SrPractice* origin, SrPracticeSay* say, void* context);
/// An event, after it was shown. At SR_SESSION_READY the history is opened, at SR_SESSION_END takes
/// over the limit are removed.
void sr_practice_log_event(SrPracticeLog* log, const SrSessionEvent* event);
/// Close the history.
void sr_practice_log_end(SrPracticeLog* log);

#endif // SR_APP_PRACTICE_LOG_H
