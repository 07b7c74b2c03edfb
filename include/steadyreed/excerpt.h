// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file excerpt.h
   A few notes of a phrase as a drill: played, then a rest as long to listen back, and again.
*/

#ifndef STEADYREED_EXCERPT_H
#define STEADYREED_EXCERPT_H

#include <steadyreed/phrase.h>

#include <stdio.h>

#ifdef __cplusplus
extern "C" {
#endif

/// What is to be written.
typedef struct {
  size_t first; ///< Index of its first note in the phrase
  size_t last;  ///< … and of its last
  int times;    ///< How often, 1 to 64
  int number;   ///< X: of the tune
  const char* title;
  const char* purpose;            ///< What it is for, one line
  double bpm;                     ///< Pulses a minute
  const char* const* annotations; ///< For each note from `first` on, with its quotes, such as
                                  ///< "\"^L2-3\"\"_draw\"", or NULL; NULL for none at all
} SrExcerpt;

/**
   Write it as ABC 2.1 in the meter of its first bar, in K:C with every accidental told. Notes that
   go over a bar line are tied.

   @return SR_OK or SR_BAD_ARGUMENT.
*/
SrStatus sr_excerpt_write(FILE* stream, const SrPhrase* phrase, const SrExcerpt* excerpt,
                          SrError* error);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_EXCERPT_H
