// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file folded.h
   A planned phrase with its repetitions folded: what is played again in the same fingering is
   listed once.
*/

#ifndef STEADYREED_FOLDED_H
#define STEADYREED_FOLDED_H

#include <steadyreed/declarations.h>
#include <steadyreed/phrase.h>
#include <steadyreed/plan.h>
#include <steadyreed/status.h>

#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// As SrFoldedBar.like: no earlier bar is the same.
#define SR_LIKE_NONE SIZE_MAX

/// A bar that is listed.
typedef struct {
  size_t bar;      ///< Its first playing, an index as for sr_phrase_bar()
  size_t like;     ///< Index of an earlier SrFoldedBar with the same notes, fingering and air;
                   ///< SR_LIKE_NONE if there is none
  unsigned ending; ///< 1 or 2 for the first or second ending of a repeat; 0 for other bars
} SrFoldedBar;

/// Bars that are played in a row, perhaps several times.
typedef struct {
  size_t first_bar; ///< Index of an SrFoldedBar
  size_t bar_count; ///< At least 1
  size_t stride;    ///< Played bars from one time to the next, at least 1
  size_t times;     ///< At least 1. An ending is played once
  char words[192];  ///< "Bars 1 to 8, twice"; "" if the phrase has only this part, once
} SrFoldedPart;

/// A phrase with its repetitions folded.
typedef struct {
  SrFoldedBar* bars;
  size_t bar_count; ///< At least 1
  SrFoldedPart* parts;
  size_t part_count; ///< At least 1
} SrFolded;

/**
   Fold a planned phrase. Two bars are the same if their notes and cuts are written alike and are
   under the same buttons and fingers in the same direction. When a part is played again, air may be
   taken in other places; sr_folded_air() reports where.

   @param plan   A plan of this phrase.
   @param folded Receives it; clear with sr_folded_clear(), also on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_fold(const SrPhrase* phrase, const SrPlan* plan, SrFolded* folded);
/// Free what it holds.
void sr_folded_clear(SrFolded* folded);

/// Index of the first note that begins in a played bar or later; the note count after the last bar.
size_t sr_folded_first_note(const SrPhrase* phrase, size_t bar);

/// Size for sr_folded_air(), bytes with its NUL.
#define SR_FOLDED_AIR_SIZE 48

/**
   In which of its times a note takes air: "" for none, "air" for all of them, "air 2nd time",
   "air from 3rd time", "air times 2, 4".

   @param part  Index of a part.
   @param bar   Index of an SrFoldedBar of this part.
   @param note  Index of a note in that bar's first playing.
   @param words Receives the words.
   @return `words`.
*/
const char* sr_folded_air(const SrPhrase* phrase, const SrPlan* plan, const SrFolded* folded,
                          size_t part, size_t bar, size_t note, char words[SR_FOLDED_AIR_SIZE]);

SR_END_DECLARATIONS

#endif // STEADYREED_FOLDED_H
