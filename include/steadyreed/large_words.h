// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file large_words.h
   A verdict in few words, to be read at two metres: what to do, then where and why; the figures of
   a round; and a fault while it is played.
*/

#ifndef STEADYREED_LARGE_WORDS_H
#define STEADYREED_LARGE_WORDS_H

#include <steadyreed/declarations.h>
#include <steadyreed/judge.h>
#include <steadyreed/phrase.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Size of each of these texts, bytes with its NUL.
#define SR_LARGE_SIZE 256
/// Most figures of a round.
#define SR_LARGE_FIGURES 4

/// The verdict on a round. Texts are UTF-8.
typedef struct {
  char head[SR_LARGE_SIZE]; ///< What to do: "Just flick the button"; "Clean" without a fault
  char body[SR_LARGE_SIZE]; ///< Where and why: "Bar 2: the one on the third F♯ lasted 141 ms"
  size_t note;              ///< Note it is about; the round's `note_count` if it is all of it
} SrLargeVerdict;

/**
   The verdict on a round from a line of its advice.

   @param round   As judged.
   @param advice  Index of the line, from 0, the most serious. Beyond the last there are no words.
   @param verdict Receives it.
*/
void sr_large_verdict(const SrRound* round, size_t advice, SrLargeVerdict* verdict);

/// One figure of a round.
typedef struct {
  const char* name;          ///< "Cuts"
  char words[SR_LARGE_SIZE]; ///< "5 of 6 clean"
  bool good;                 ///< Nothing to complain of
} SrLargeFigure;

/**
   Its figures: notes, cuts, beat, air, as far as there is something to say.

   @param round   As judged.
   @param carries Whether the recording can carry air, see SrAssessment.
   @param figures Receives them, SR_LARGE_FIGURES.
   @return How many.
*/
size_t sr_large_figures(const SrRound* round, SrAirCarriage carries, SrLargeFigure* figures);

/**
   A fault as it is heard: "A ran into A", "No cut", "E, not F♯". The beat and air are left to the
   end of the round.

   @param phrase What is played.
   @param note   As reported; its index is within the phrase.
   @param words  Receives it, SR_LARGE_SIZE bytes; "" without a fault.
   @return Whether there is one.
*/
bool sr_large_fault(const SrPhrase* phrase, const SrNoteVerdict* note, char* words);

SR_END_DECLARATIONS

#endif // STEADYREED_LARGE_WORDS_H
