// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file key.h
   Key signatures and modes (ABC 2.1, section 3.1.14).
*/

#ifndef SR_PHRASE_KEY_H
#define SR_PHRASE_KEY_H

#include <stdbool.h>
#include <stddef.h>

/// A key: the accidental implied for each letter.
typedef struct {
  int accidental[7]; ///< Semitones for C D E F G A B: -2 to 2
  int octave;        ///< Octave shift from octave=
  int clef;          ///< Octave shift of the clef, such as treble-8
  int transpose;     ///< Semitone shift from transpose=
} SrKey;

/**
   Parse the value of a K: field.

   @param text   The value.
   @param size   Its length, bytes.
   @param key    Receives the key; parts missing from the text (K:clef=bass) are left unchanged.
   @param wrong  On failure, receives the position of the error.
   @return Whether it was valid.
*/
bool sr_key_read(const char* text, size_t size, SrKey* key, size_t* wrong);

/// Use the parameters after the name in a V: field; unknown ones are ignored.
void sr_key_read_voice(const char* text, size_t size, SrKey* key);
/// Total transposition, semitones.
int sr_key_shift(const SrKey* key);

#endif // SR_PHRASE_KEY_H
