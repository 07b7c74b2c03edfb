// SPDX-License-Identifier: GPL-3.0-or-later

// Events from the session's thread to the front end. Either side may wait for the lock while one
// event is copied; the audio callback never uses it.

#ifndef SR_SESSION_EVENT_QUEUE_H
#define SR_SESSION_EVENT_QUEUE_H

#include <steadyreed/session.h>

#include <pthread.h>

typedef struct {
  pthread_mutex_t lock;
  SrSessionEvent* events; ///< Ring buffer, starting at `first`
  size_t room;
  size_t first;
  size_t count;
  int descriptor; ///< An eventfd, readable while `count` is over 0
} SrEventQueue;

/// SR_OK, SR_NO_MEMORY or SR_DEVICE_TROUBLE (no descriptor left). Clear it after SR_OK.
SrStatus sr_event_queue_init(SrEventQueue* queue, SrError* error);
void sr_event_queue_clear(SrEventQueue* queue);
/// Add an event, which then belongs to the queue; false without memory, and the event is cleared.
bool sr_event_queue_push(SrEventQueue* queue, SrSessionEvent event);
/// Take the first event; false if there is none.
bool sr_event_queue_pull(SrEventQueue* queue, SrSessionEvent* event);

#endif // SR_SESSION_EVENT_QUEUE_H
