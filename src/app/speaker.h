// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file speaker.h
   Speaking through speech-dispatcher, with the voice and rate the user has set there. A thread of
   its own talks to it, so that nothing here ever waits: a speech server that hangs delays nobody.
*/

#ifndef SR_APP_SPEAKER_H
#define SR_APP_SPEAKER_H

#include <stdbool.h>

/// What became of the words given last.
typedef enum {
  SR_SPEAKER_SILENT,  ///< They are spoken or cancelled, or there were none
  SR_SPEAKER_WAITING, ///< They have not begun
  SR_SPEAKER_SPEAKS,
} SrSpeakerState;

typedef struct SrSpeakerImpl SrSpeaker;

/// Whether this build can speak.
bool sr_speaker_is_built(void);
/// Start looking for the speech server. Only one at a time. NULL without memory, or if the build
/// cannot speak.
SrSpeaker* sr_speaker_new(void);
/// Stop and free, within half a second; if the server hangs, its connection stays until the program
/// ends. NULL does nothing.
void sr_speaker_del(SrSpeaker* speaker);
/**
   Speak instead of anything given before.

   @param words Letters, digits, spaces and simple punctuation, at most 255 bytes; English. A
   capital A alone is the name of a note.
*/
void sr_speaker_say(SrSpeaker* speaker, const char* words);
/// Stop at once.
void sr_speaker_stop(SrSpeaker* speaker);
SrSpeakerState sr_speaker_state(SrSpeaker* speaker);
/// For how long the words given last have been waiting, s; 0 if they are not.
double sr_speaker_waited_s(SrSpeaker* speaker);

#endif // SR_APP_SPEAKER_H
