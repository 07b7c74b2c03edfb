// SPDX-License-Identifier: GPL-3.0-or-later

// The words of one note beside the bellows line: its name and octave, its button, and in a row of
// small ones its finger, its cut and its air.

#ifndef SR_SHOW_BELLOWS_WORDS_H
#define SR_SHOW_BELLOWS_WORDS_H

#include "bellows_rows.h"

/// Narrowest letters against the usual width.
#define SR_NARROWEST 0.64

/// Width of a note's name and of its button, whichever is wider, in letters of the usual width.
double sr_bellows_words_width(const SrPen* pen, const SrBellowsRows* rows,
                              const SrDrawnStroke* stroke);

/// Where the words go.
typedef struct {
  double left;
  double top; ///< Of the lane
  double width;
  double narrow; ///< Width of letters against the usual one; they become smaller if that is not
                 ///< enough
} SrWordsPlace;

/// Draw all words of a note.
void sr_bellows_words_say(const SrPen* pen, const SrBellowsRows* rows, const SrDrawnStroke* stroke,
                          const SrWordsPlace* place);
/// Draw the name of a note continued from the line before, in brackets.
void sr_bellows_words_go_on(const SrPen* pen, const SrBellowsRows* rows,
                            const SrDrawnStroke* stroke, const SrWordsPlace* place);

#endif // SR_SHOW_BELLOWS_WORDS_H
