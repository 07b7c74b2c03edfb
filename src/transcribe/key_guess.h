// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TRANSCRIBE_KEY_GUESS_H
#define SR_TRANSCRIBE_KEY_GUESS_H

#include <steadyreed/transcribe.h>

/// A key.
typedef struct {
  int fifths;     ///< Sharps of its signature; negative for flats
  int tonic;      ///< Pitch class of its first note, 0 for C
  char name[8];   ///< As in K:, such as "Edor"
  double outside; ///< Share of the playing time on notes outside of it, 0 to 1
  double sure;    ///< 0 to 1: that no other signature is as good
} SrKeyGuess;

/// Time for which each pitch class sounds, s; `weights` has 12 places, the first for C.
void sr_key_weights(const SrPlayedNotes* played, double* weights);

/// The signature with the least outside of it; of those alike the one nearest to one sharp.
int sr_key_signature(const double* weights, double* outside);

/// The key of what was played.
SrKeyGuess sr_key_guess(const SrPlayedNotes* played);

#endif // SR_TRANSCRIBE_KEY_GUESS_H
