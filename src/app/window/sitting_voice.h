// SPDX-License-Identifier: GPL-3.0-or-later

// The verdict on each round of a sitting, spoken when the session allows it.

#ifndef SR_WINDOW_SITTING_VOICE_H
#define SR_WINDOW_SITTING_VOICE_H

#include "one_sitting.h"

typedef struct SrSittingVoiceImpl SrSittingVoice;

/// A voice for a sitting, which it must not outlive; silent until it is switched on.
SrSittingVoice* sr_sitting_voice_new(SrSitting* sitting);
/// Switch it on or off. False if it cannot speak.
bool sr_sitting_voice_switch(SrSittingVoice* voice, bool on);
/// Whether it is on.
bool sr_sitting_voice_is_on(const SrSittingVoice* voice);
/// Say something at the beginning of a session, as soon as that is allowed. Nothing without a
/// voice.
void sr_sitting_voice_announce(SrSittingVoice* voice, const char* words);
/// Add a sentence to the verdict that is about to be spoken.
void sr_sitting_voice_add(SrSittingVoice* voice, const char* words);
/// Whether words are being spoken, or are to be.
bool sr_sitting_voice_sounds(const SrSittingVoice* voice);
void sr_sitting_voice_free(SrSittingVoice* voice);

#endif // SR_WINDOW_SITTING_VOICE_H
