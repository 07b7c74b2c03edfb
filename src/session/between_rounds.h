// SPDX-License-Identifier: GPL-3.0-or-later

// What sounds between rounds without being played: the tone for a verdict, and what a front end
// speaks. Meanwhile, in a hush, the microphone is ignored, except that a reed ends it.

#ifndef SR_SESSION_BETWEEN_ROUNDS_H
#define SR_SESSION_BETWEEN_ROUNDS_H

#include "hear/steady_partials.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Hushes of a session.
typedef struct {
  SrSteadyPartials* partials; ///< Looks for a reed
  float* held;                ///< Input not yet listened to, a ring buffer
  size_t room;
  size_t first;
  size_t count;
  uint64_t arrived;    ///< Samples from the stream, listened to or held
  uint64_t began;      ///< First sample of the last hush
  uint64_t deaf_until; ///< Samples before this one are ignored; UINT64_MAX while anything sounds
  uint64_t tone_until; ///< The tone is over at this sample; 0 without one, UINT64_MAX until all of
                       ///< it is handed to the device
  bool asked;          ///< The front end wants to sound
  bool tone_due;       ///< A tone is to sound,
  bool clean;          ///< … for a clean round
  uint64_t wanted;     ///< Sample at which either was wanted
  bool granted;        ///< It was told that it may
  double softest_db;   ///< Softest note of the last round, dBFS; NAN before the first
  double last_s;       ///< When something last sounded
} SrBetween;

#endif // SR_SESSION_BETWEEN_ROUNDS_H
