// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file keys.h
   What keys do during practice, in a terminal and in a window alike. A page-turner pedal sends
   page, arrow or space keys.
*/

#ifndef SR_APP_KEYS_H
#define SR_APP_KEYS_H

#include <steadyreed/session.h>

#include <stdbool.h>
#include <stddef.h>

/// A key that does something.
typedef enum {
  SR_KEY_NONE,
  SR_KEY_SPACE,
  SR_KEY_PAGE_DOWN,
  SR_KEY_PAGE_UP,
  SR_KEY_RIGHT,
  SR_KEY_LEFT,
  SR_KEY_UP,
  SR_KEY_DOWN,
  SR_KEY_Q,
  SR_KEY_ESCAPE,
  SR_KEY_N,
  SR_KEY_RETURN,
} SrKey;

typedef enum {
  SR_JOB_NONE,
  SR_JOB_BEGIN,  ///< Begin the count-in; or, while something is played to the player, stop that
  SR_JOB_HEAR,   ///< Hear the phrase
  SR_JOB_FASTER, ///< By SR_TEMPO_STEP
  SR_JOB_SLOWER,
  SR_JOB_END,  ///< End the session
  SR_JOB_NEXT, ///< Go on to the next of several sessions
} SrJob;

/// A key changes the tempo by this factor.
#define SR_TEMPO_STEP 1.04

/// What a key does.
SrJob sr_key_job(SrKey key);
/**
   The key for what a terminal sends.

   @param bytes One character, or one escape sequence from ESC on: CSI or SS3 and a final byte, as
                ECMA-48 and the VT220 have it. With modifiers it is another key.
*/
SrKey sr_key_of_bytes(const char* bytes, size_t count);

/// What jobs depend on; all zero before the first event.
typedef struct {
  bool playing; ///< Something is played to the player
  double bpm;   ///< As last asked for or reported; NAN without a phrase
} SrJobState;

/// Follow the events of a session.
void sr_job_hear(SrJobState* state, const SrSessionEvent* event);
/// Do a job.
void sr_job_do(SrJob job, SrJobState* state, SrSession* session);

#endif // SR_APP_KEYS_H
