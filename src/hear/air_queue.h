// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air_queue.h
   Releases of air that were found and not yet taken. An uncertain one waits, because a sound near
   it rules it out.
*/

#ifndef SR_HEAR_AIR_QUEUE_H
#define SR_HEAR_AIR_QUEUE_H

#include <steadyreed/hear.h>

#include <stdbool.h>
#include <stddef.h>

/// A release that was found.
typedef struct {
  SrAirHeard heard;
  bool sure;
} SrAirRelease;

/// Releases in order; zero-initialised, there are none. The owner frees `releases`.
typedef struct {
  SrAirRelease* releases;
  size_t count;
  size_t room;
} SrAirQueue;

/// Add one; out of memory, it is dropped.
void sr_air_queue_put(SrAirQueue* queue, const SrAirRelease* release);
/// Another sound at a time: the uncertain ones near it are no air.
void sr_air_queue_spoil(SrAirQueue* queue, double time_s);
/// Take the next one, if nothing after `done_s` can rule it out; false if there is none.
bool sr_air_queue_pull(SrAirQueue* queue, double done_s, SrAirHeard* heard);

#endif // SR_HEAR_AIR_QUEUE_H
