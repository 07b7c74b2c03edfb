// SPDX-License-Identifier: GPL-3.0-or-later

// What the steps of setup make of a session's events, without any device.

#ifndef SR_SESSION_SETUP_STEPS_H
#define SR_SESSION_SETUP_STEPS_H

#include <steadyreed/session.h>
#include <steadyreed/setup_steps.h>

/// Measurements of a stretch of sound.
typedef struct {
  double energy;
  uint64_t samples;
  float peak;
  bool overdriven;
} SrSetupSound;

/// A step that listens.
typedef struct {
  const SrSetupWatch* watch;
  SrSetupFound* found;
  char input[SR_DEVICE_NAME_SIZE];
  SrSetupSound room;
  SrSetupSound loud;
  double room_until_s; ///< 0 while the room is measured
  SrStroke strokes[SR_SETUP_STROKES];
  bool done; ///< Nothing more is to be heard
} SrSetupListening;

/// Take an event, and report what it means; `found->step` says for which step.
void sr_setup_listening_take(SrSetupListening* listening, const SrSessionEvent* event);
/// The session is over: find what it has shown. Bellows only; the others are found on the way.
void sr_setup_listening_finish(SrSetupListening* listening);
/**
   Find the round trip from several measurements.

   @param times_s Seconds, SR_SETUP_TIMES of them; NAN where it was not heard. Sorted here.
*/
void sr_setup_round_trip_find(double* times_s, SrSetupFound* found);

#endif // SR_SESSION_SETUP_STEPS_H
