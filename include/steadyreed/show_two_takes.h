// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file show_two_takes.h
   Two takes of a phrase side by side, in words: for a terminal, a page or a window.
*/

#ifndef STEADYREED_SHOW_TWO_TAKES_H
#define STEADYREED_SHOW_TWO_TAKES_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>
#include <steadyreed/show.h>
#include <steadyreed/status.h>
#include <steadyreed/two_takes.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

SR_BEGIN_DECLARATIONS

/// What is shown.
typedef struct {
  const SrPhrase* phrases[2]; ///< What each was to play: the same notes, in one key or two
  const char* names[2];       ///< Of the takes, such as "12 October 2026, best"; UTF-8
  SrPlayedRounds played[2];   ///< As compared
  const SrTwoTakes* two;      ///< The comparison
} SrShownTwo;

/// How it is told what differs, and how often that is chance: one sentence.
#define SR_TWO_TEST_WORDS                                                                          \
  "Differs by more than chance: by more than notes and rounds of one take differ (Fisher's exact " \
  "test for shares, else Mann and Whitney's; rounds as clusters; Holm), which should be found in " \
  "at most 5 % of pairs played alike. With one round each, it is only said of those two rounds."

/// Size of the sentence, bytes with its NUL.
#define SR_TWO_SENTENCE_SIZE 768

/**
   What differs between the takes by more than chance, in one sentence: "The second take has more
   clean cuts (11 of 12, not 4 of 12); nothing else differs by more than chance."

   @param sentence Receives it.
   @return `sentence`.
*/
const char* sr_two_sentence(const SrTwoTakes* two, char sentence[SR_TWO_SENTENCE_SIZE]);
/// The same of two single rounds: "The two rounds differ by no more than chance."
const char* sr_two_sentence_rounds(const SrTwoTakes* two, char sentence[SR_TWO_SENTENCE_SIZE]);

/// Size of a cell of the table, bytes with its NUL.
#define SR_TWO_CELL_SIZE 16

/// A row of the table of figures.
typedef struct {
  const char* name;                  ///< "clean cuts, %"
  char value[2][SR_TWO_CELL_SIZE];   ///< "83"; "-" if it is not known
  char difference[SR_TWO_CELL_SIZE]; ///< "+42": the second less the first; "" if one is not known
  bool told;                         ///< By more than chance
} SrTwoRow;

/**
   The table of figures.

   @param rows Receives those that either take has.
   @return Their number.
*/
size_t sr_two_rows(const SrTwoTakes* two, SrTwoRow rows[SR_TWO_FIGURES]);

/// What went wrong in a bar.
typedef struct {
  int bar;        ///< As numbered in the music; 0 for a pickup, -1 for the whole round
  char* words[2]; ///< UTF-8; "" if nothing did
} SrTwoBar;

/**
   What went wrong in the best round of each take, bar by bar, in the order of the music, and last
   what is about the whole round; bars in which nothing did in either are left out.

   @param bars Receives them; free with sr_two_bars_del(), also on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_two_bars(const SrShownTwo* shown, SrTwoBar** bars, size_t* count, SrError* error);
/// Free a list; NULL does nothing.
void sr_two_bars_del(SrTwoBar* bars, size_t count);

/**
   Write both side by side: what differs, the figures, and bar by bar what went wrong. On a terminal
   of fewer than 64 columns the takes stand one under the other.

   @return SR_OK or SR_NO_MEMORY (then nothing was written).
*/
SrStatus sr_show_two_takes(FILE* stream, const SrShownTwo* shown, const SrShowStyle* style,
                           SrError* error);

/// "12 October 2026, best: 3 rounds"; `line` of SR_TWO_SENTENCE_SIZE bytes. Returns it.
const char* sr_two_name_line(const SrShownTwo* shown, size_t take, char* line);

SR_END_DECLARATIONS

#endif // STEADYREED_SHOW_TWO_TAKES_H
