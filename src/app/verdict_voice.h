// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file verdict_voice.h
   The verdict on each round, spoken: when the session allows it, and silenced when it says so.
*/

#ifndef SR_APP_VERDICT_VOICE_H
#define SR_APP_VERDICT_VOICE_H

#include "speaker.h"

#include <steadyreed/session.h>
#include <steadyreed/show.h>

#include <stdbool.h>

/// A voice; all zero is none.
typedef struct {
  SrSpeaker* speaker;
  char words[2 * SR_SPOKEN_SIZE]; ///< To be spoken as soon as that is allowed; "" for none
  bool sounds;                    ///< Words were given to the speaker, and the session is hushed
  bool complained;                ///< It was reported that the server does not answer
} SrVerdictVoice;

/// Start one; false without memory.
bool sr_verdict_voice_begin(SrVerdictVoice* voice);
void sr_verdict_voice_end(SrVerdictVoice* voice);
/// Say something at the beginning of a session, as soon as that is allowed. Nothing without a
/// voice.
void sr_verdict_voice_announce(SrVerdictVoice* voice, SrSession* session, const char* words);
/// Add to a verdict that waits to be spoken; nothing is added if none does.
void sr_verdict_voice_add(SrVerdictVoice* voice, const char* words);
/// Whether it speaks, or is about to.
bool sr_verdict_voice_sounds(const SrVerdictVoice* voice);
/**
   Follow an event of the session; at its last one wait until all is spoken, or until the end is
   asked for by a key or signal.

   @return True once, if the speech server does not answer.
*/
bool sr_verdict_voice_hear(SrVerdictVoice* voice, SrSession* session, const SrSessionEvent* event);

#endif // SR_APP_VERDICT_VOICE_H
