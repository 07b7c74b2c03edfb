// SPDX-License-Identifier: GPL-3.0-or-later

// What sessions play goes into the history on a thread of its own, in order: another program may
// hold the database for seconds, and the window goes on meanwhile.

#ifndef SR_WINDOW_HISTORY_QUEUE_H
#define SR_WINDOW_HISTORY_QUEUE_H

#include "../practice_log.h"

#include <glib.h>

typedef struct SrHistoryQueueImpl SrHistoryQueue;

/// `say` is called in the main loop.
SrHistoryQueue* sr_history_queue_new(SrPracticeSay* say, void* context);
/// Wait until all is written, and free it; what was still to be said is not. NULL does nothing.
void sr_history_queue_del(SrHistoryQueue* queue);
/**
   A session begins; see sr_practice_log_begin().

   @param kept   What the phrase and the texts of `origin` belong to; `let_go` is called with it on
                 any thread once they are not needed.
*/
void sr_history_queue_begin(SrHistoryQueue* queue, const SrPhrase* phrase,
                            const SrSessionSettings* settings, const SrPractice* origin, void* kept,
                            GDestroyNotify let_go);
/**
   An event of the session. Does nothing if none has begun.

   @param event Copied, but for its assessment.
   @param kept  What its assessment belongs to, as in sr_history_queue_begin(); NULL without.
*/
void sr_history_queue_event(SrHistoryQueue* queue, const SrSessionEvent* event, void* kept,
                            GDestroyNotify let_go);
/// The next rounds have another click.
void sr_history_queue_click(SrHistoryQueue* queue, SrPlayedClick click);
/// The session is over.
void sr_history_queue_end(SrHistoryQueue* queue);
/// Wait until all is written.
void sr_history_queue_finish(SrHistoryQueue* queue);

#endif // SR_WINDOW_HISTORY_QUEUE_H
