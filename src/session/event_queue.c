// SPDX-License-Identifier: GPL-3.0-or-later

#include "event_queue.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <unistd.h>

/// Initial capacity, events; doubled when full.
#define FIRST_ROOM 64u

SrStatus
sr_event_queue_init(SrEventQueue* const queue, SrError* const error)
{
  *queue = (SrEventQueue){.room = FIRST_ROOM, .descriptor = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)};
  if (queue->descriptor < 0) {
    return sr_error_set(error, SR_DEVICE_TROUBLE,
                        "The system has no file descriptor left to report events with.");
  }
  queue->events = (SrSessionEvent*)calloc(FIRST_ROOM, sizeof(SrSessionEvent));
  if (!queue->events || pthread_mutex_init(&queue->lock, NULL) != 0) {
    free(queue->events);
    close(queue->descriptor);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to practise.");
  }
  return SR_OK;
}

void
sr_event_queue_clear(SrEventQueue* const queue)
{
  SrSessionEvent event;
  while (sr_event_queue_pull(queue, &event)) {
    sr_session_event_clear(&event);
  }
  free(queue->events);
  close(queue->descriptor);
  pthread_mutex_destroy(&queue->lock);
}

/**
   Capacity reserved for a session's last events, from STOPPED or TROUBLE on, which so need no
   allocation.
*/
#define LAST_EVENTS 5u

static bool
is_last(const SrSessionEventKind kind)
{
  return kind == SR_SESSION_STOPPED || kind == SR_SESSION_SAVED || kind == SR_SESSION_TROUBLE ||
         kind == SR_SESSION_END;
}

static bool
make_room(SrEventQueue* const queue, const SrSessionEventKind kind)
{
  if (queue->count + (is_last(kind) ? 0 : LAST_EVENTS) < queue->room) {
    return true;
  }
  SrSessionEvent* const events = (SrSessionEvent*)calloc(2 * queue->room, sizeof(SrSessionEvent));
  if (!events) {
    return false;
  }
  const size_t behind = queue->room - queue->first;
  memcpy(events, queue->events + queue->first, behind * sizeof(SrSessionEvent));
  memcpy(events + behind, queue->events, queue->first * sizeof(SrSessionEvent));
  free(queue->events);
  queue->events = events;
  queue->room *= 2;
  queue->first = 0;
  return true;
}

/// Merge a level into the last event if that is an untaken level, so that levels do not pile up.
static bool
join_level(SrEventQueue* const queue, const SrSessionEvent* const event)
{
  if (event->kind != SR_SESSION_LEVEL || queue->count == 0) {
    return false;
  }
  SrSessionEvent* const last = &queue->events[(queue->first + queue->count - 1) % queue->room];
  if (last->kind != SR_SESSION_LEVEL) {
    return false;
  }
  last->at_s = event->at_s;
  last->level.peak = fmaxf(last->level.peak, event->level.peak);
  last->level.energy += event->level.energy;
  last->level.samples += event->level.samples;
  last->level.overdriven = last->level.overdriven || event->level.overdriven;
  last->level.idle = event->level.idle;
  return true;
}

bool
sr_event_queue_push(SrEventQueue* const queue, SrSessionEvent event)
{
  pthread_mutex_lock(&queue->lock);
  bool taken = join_level(queue, &event);
  if (!taken && make_room(queue, event.kind)) {
    queue->events[(queue->first + queue->count) % queue->room] = event;
    taken = true;
    if (++queue->count == 1) {
      eventfd_write(queue->descriptor, 1);
    }
  }
  pthread_mutex_unlock(&queue->lock);
  if (!taken) {
    sr_session_event_clear(&event);
  }
  return taken;
}

bool
sr_event_queue_pull(SrEventQueue* const queue, SrSessionEvent* const event)
{
  pthread_mutex_lock(&queue->lock);
  const bool any = queue->count > 0;
  if (any) {
    *event = queue->events[queue->first];
    queue->first = (queue->first + 1) % queue->room;
    if (--queue->count == 0) {
      eventfd_t value;
      eventfd_read(queue->descriptor, &value);
    }
  }
  pthread_mutex_unlock(&queue->lock);
  return any;
}
