// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file excerpt.h
   A few notes of a phrase as a drill: played, then a rest of the same length for listening back,
   repeated.
*/

#ifndef STEADYREED_EXCERPT_H
#define STEADYREED_EXCERPT_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>

#include <stdio.h>

SR_BEGIN_DECLARATIONS

/// What to write.
typedef struct {
  size_t first; ///< Index of the first note in the phrase
  size_t last;  ///< Index of the last note
  int times;    ///< Repetitions, 1 to 64
  int number;   ///< X: of the tune
  const char* title;
  const char* purpose;            ///< Purpose of the drill, one line
  double bpm;                     ///< Pulses a minute
  const char* const* annotations; ///< For each note from `first` on, with its quotes, such as
                                  ///< "\"^L2-3\"\"_draw\"", or NULL; NULL for no annotations
} SrExcerpt;

/**
   Write it as ABC 2.1 in the meter of its first bar, in K:C with every accidental written. Notes
   that cross a bar line are tied.

   @return SR_OK or SR_BAD_ARGUMENT.
*/
SrStatus sr_excerpt_write(FILE* stream, const SrPhrase* phrase, const SrExcerpt* excerpt,
                          SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_EXCERPT_H
