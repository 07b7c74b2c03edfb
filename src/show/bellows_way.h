// SPDX-License-Identifier: GPL-3.0-or-later

// How a phrase is broken into lines, and how large its letters are: as large as the pages allow.

#ifndef SR_SHOW_BELLOWS_WAY_H
#define SR_SHOW_BELLOWS_WAY_H

#include "bellows_geometry.h"
#include "bellows_rows.h"
#include "page_share.h"

#include <steadyreed/status.h>

#define SR_BELLOWS_LEFT 27.0 ///< For the words on the left
#define SR_BELLOWS_RIGHT 2.0 ///< Half of the last bar line

#define SR_WORDS_LEFT 1.2 ///< Between the beginning of a note and its words

/// Between the words of two notes, with SR_WORDS_LEFT.
double sr_bellows_words_apart(const SrBellowsRows* rows);

/// What is asked for.
typedef struct {
  double width; ///< Of a line, with the words on its left
  SrPageRoom room;
  size_t pages;       ///< Most pages; 0 for any number
  double least;       ///< Smallest scale of letters; 1 is SR_NAME_MM
  double most;        ///< Largest scale
  double fits;        ///< Share of notes that must have room for their words, 0 to 1; the words of
                      ///< the others become smaller
  size_t bars_a_line; ///< 0 for any number, 1 to 4
} SrBellowsWish;

/// A way to break a phrase.
typedef struct {
  size_t bars;   ///< On a line
  SrRefer refer; ///< Which bars are only named
  double scale;  ///< Of letters
  double narrow; ///< Width of letters against the usual one
  double box;    ///< Height of the bellows
} SrBellowsWay;

/**
   Find the way with the largest letters. Bars that are the same are only named where that makes the
   letters larger.

   @param pen   Only measures.
   @param way   Receives it.
   @param found Receives whether there is one; without a limit to pages there always is.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_bellows_way_find(const SrPen* pen, const SrDrawnPhrase* phrase,
                             const SrBellowsWish* wish, SrBellowsWay* way, bool* found);

/// Time for the words of a note, whole notes: until the next note in its direction or the end of
/// its bar, at least as long as it sounds.
double sr_bellows_words_time(const SrDrawnPhrase* phrase, size_t stroke);
/// Height of the lane of one direction; lower if the line has no words for it.
double sr_bellows_lane(const SrBellowsSystem* system, const SrBellowsRows* rows, bool draw);
/// Height of a line with everything above and below it.
double sr_bellows_line_height(const SrBellowsSystem* system, const SrBellowsRows* rows, double box,
                              const SrDrawnPhrase* phrase);
/// The longest time on a line with notes.
double sr_bellows_longest(const SrBellowsSystem* systems, size_t count);

#endif // SR_SHOW_BELLOWS_WAY_H
