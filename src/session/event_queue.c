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

/// Whether events of a kind are merged, of which many come.
static bool
merges(const SrSessionEventKind kind)
{
  return kind == SR_SESSION_LEVEL || kind == SR_SESSION_PITCH || kind == SR_SESSION_SIGNAL_HELD ||
         kind == SR_SESSION_WAITING;
}

static SrSessionEvent*
event_at(const SrEventQueue* const queue, const size_t place)
{
  return &queue->events[(queue->first + place) % queue->room];
}

/// Take out the untaken event of this kind behind which only such as are merged have come, and
/// merge it into the new one, so that they do not pile up.
static void
merge_untaken(SrEventQueue* const queue, SrSessionEvent* const event)
{
  size_t place = queue->count;
  while (place > 0 && merges(event_at(queue, place - 1)->kind) &&
         event_at(queue, place - 1)->kind != event->kind) {
    --place;
  }
  if (!merges(event->kind) || place == 0 || event_at(queue, place - 1)->kind != event->kind) {
    return;
  }
  if (event->kind == SR_SESSION_LEVEL) {
    const SrSessionEvent* const before = event_at(queue, place - 1);
    event->level.peak = fmaxf(before->level.peak, event->level.peak);
    event->level.energy += before->level.energy;
    event->level.samples += before->level.samples;
    event->level.overdriven = before->level.overdriven || event->level.overdriven;
  }
  for (; place < queue->count; ++place) {
    *event_at(queue, place - 1) = *event_at(queue, place);
  }
  --queue->count;
}

bool
sr_event_queue_push(SrEventQueue* const queue, SrSessionEvent event)
{
  pthread_mutex_lock(&queue->lock);
  const bool was_empty = queue->count == 0;
  merge_untaken(queue, &event);
  const bool taken = make_room(queue, event.kind);
  if (taken) {
    *event_at(queue, queue->count) = event;
    ++queue->count;
    if (was_empty) {
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
