// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file assignment.h
   How a tune is to be practised, as its ABC file says: a teacher sends one file, and a pupil who
   practises it has the bars, the tempo and the click that were meant.

   The tempo is the tune's Q: field. The rest are directives in its header, one on a line, each
   optional, named as ABC 2.1 names those of one application (section 11.5); other programs ignore
   what they do not know (section 11).

       %%steadyreed:bars 1-2          one bar or a first and a last one, as numbered in the music
       %%steadyreed:part A            one part, A to Z
       %%steadyreed:click bars        pulses, bars (the first pulse of each) or none
       %%steadyreed:silent-bars 4:4   bars with the click and bars without, 1 to 64 and 0 to 64
       %%steadyreed:ladder yes        yes or no: begin slower with a few bars, and climb

   A directive before the first tune holds for all tunes, unless a tune has its own. Other names
   after `steadyreed:` are ignored, so that a file of a later version can be read.
*/

#ifndef STEADYREED_ASSIGNMENT_H
#define STEADYREED_ASSIGNMENT_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// The click that a file asks for.
typedef enum {
  SR_ASSIGNED_CLICK_ANY, ///< It says nothing
  SR_ASSIGNED_CLICK_PULSES,
  SR_ASSIGNED_CLICK_BARS, ///< The first pulse of each bar
  SR_ASSIGNED_CLICK_NONE,
} SrAssignedClick;

/// Whether a file asks for the tempo ladder.
typedef enum {
  SR_ASSIGNED_LADDER_ANY,
  SR_ASSIGNED_LADDER_YES,
  SR_ASSIGNED_LADDER_NO
} SrAssignedLadder;

/// Most bars with the click, and most without.
#define SR_ASSIGNED_MOST_BARS 64

/// What a file asks for; all zero for nothing.
typedef struct {
  int first_bar; ///< As in SrPhraseChoice; both 0 for none named
  int last_bar;
  char part; ///< 'A' to 'Z', 0 for none named
  SrAssignedClick click;
  unsigned on_bars;  ///< Bars with the click; 0 if nothing is said
  unsigned off_bars; ///< Bars without it, 0 for a click in every bar
  SrAssignedLadder ladder;
} SrAssignment;

/**
   Read what the file asks for.

   @param path       ABC file.
   @param choice     Which tune; its bars, part and transposition do not matter. NULL for the first.
   @param assignment Receives it; all zero on error.
   @return As sr_phrase_read_file(); SR_BAD_SYNTAX also for a directive with a wrong value.
*/
SrStatus sr_assignment_read_file(const char* path, const SrPhraseChoice* choice,
                                 SrAssignment* assignment, SrError* error);
/// The same from a text in memory; see sr_phrase_read_text().
SrStatus sr_assignment_read_text(const char* text, size_t size, const char* name,
                                 const SrPhraseChoice* choice, SrAssignment* assignment,
                                 SrError* error);

/**
   Copy one tune of a file, with what applies to all tunes of the file, and with an assignment in
   place of any that it had.

   @param path       ABC file.
   @param choice     Which tune; its bars, part and transposition do not matter. NULL for the first.
   @param assignment What to ask for.
   @param bpm        Pulses a minute for its Q: field, a whole number from 1 to 2000; NAN to leave
                     Q: as it is. The pulse is that of the first bar.
   @param text       Receives ABC text that ends in a newline and NUL; free() it. NULL on error.
   @return As sr_phrase_read_file(), or SR_BAD_ARGUMENT for a tempo that is none.
*/
SrStatus sr_assignment_write(const char* path, const SrPhraseChoice* choice,
                             const SrAssignment* assignment, double bpm, char** text,
                             SrError* error);

/// Size of what sr_assignment_words() writes, bytes.
#define SR_ASSIGNMENT_WORDS_SIZE 192
/// What is asked for in words, such as "bars 1 to 2, a click on each bar, 4 bars with it and 4
/// without"; "" for nothing. Returns `words`.
const char* sr_assignment_words(const SrAssignment* assignment,
                                char words[SR_ASSIGNMENT_WORDS_SIZE]);

SR_END_DECLARATIONS

#endif // STEADYREED_ASSIGNMENT_H
