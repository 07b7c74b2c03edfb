// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file key.h
   Key signatures and modes (ABC 2.1, section 3.1.14).
*/

#ifndef SR_PHRASE_KEY_H
#define SR_PHRASE_KEY_H

#include <stdbool.h>
#include <stddef.h>

/// A key: what each letter means without an accidental.
typedef struct {
  int accidental[7]; ///< Semitones for C D E F G A B: -2 to 2
  int octave;        ///< Octaves by which all sounds, octave=
  int clef;          ///< Octaves by which it sounds for its clef, treble-8
  int transpose;     ///< Semitones by which all sounds, transpose=
} SrKey;

/**
   Read the value of a K: field.

   @param text   The value.
   @param size   Its length, bytes.
   @param key    Receives the key; what the text leaves out (K:clef=bass) stays as it was.
   @param wrong  On failure, receives the position of what was not understood.
   @return Whether it was understood.
*/
bool sr_key_read(const char* text, size_t size, SrKey* key, size_t* wrong);

/// Use the parameters of a V: field behind its name; what is no parameter is passed over.
void sr_key_read_voice(const char* text, size_t size, SrKey* key);
/// Semitones by which all sounds.
int sr_key_shift(const SrKey* key);

#endif // SR_PHRASE_KEY_H
