// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file phrase_impl.h
   What a phrase holds, for the files that make and transpose it.
*/

#ifndef SR_PHRASE_PHRASE_IMPL_H
#define SR_PHRASE_PHRASE_IMPL_H

#include "tune.h"

#define MOST_REMARKS 4u

struct SrPhraseImpl {
  char title[SR_TUNE_TEXT_SIZE];
  char key[SR_TUNE_TEXT_SIZE];
  int tune;
  double tempo;
  int sharps; ///< Of its key as it sounds
  int transposed;
  char remarks[MOST_REMARKS][SR_TUNE_TEXT_SIZE];
  size_t remark_count;
  SrFraction length;
  SrPhraseNote* notes;
  size_t note_count;
  SrPhraseBar* bars;
  size_t bar_count;
};

/// Transpose all pitches; SR_UNSUPPORTED with a message if one would leave MIDI's range.
SrStatus sr_phrase_shift(SrPhrase* phrase, int semitones, SrError* error);

#endif // SR_PHRASE_PHRASE_IMPL_H
