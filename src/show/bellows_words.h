// SPDX-License-Identifier: GPL-3.0-or-later

// The words beside the bellows line.

#ifndef SR_SHOW_BELLOWS_WORDS_H
#define SR_SHOW_BELLOWS_WORDS_H

#include "pen.h"

/// What words are about.
typedef enum {
  SR_WORDS_NOTE,    ///< The note and its button
  SR_WORDS_GOES_ON, ///< The note that goes on from the line before, in brackets
  SR_WORDS_CUT,     ///< The cut and its button
  SR_WORDS_AIR,
} SrWordsKind;

/// Width and height of words; `scale` is that of the letters.
void sr_bellows_words_measure(const SrPen* pen, const SrDrawnStroke* stroke, SrWordsKind kind,
                              double scale, SrArea* area);
/// Draw them there.
void sr_bellows_words_say(const SrPen* pen, const SrDrawnStroke* stroke, SrWordsKind kind,
                          double scale, const SrArea* area);

/// The words for the shaded parts, and how they look.
#define SR_SHADE_WORDS "low room: speaks less readily"
SrFont sr_shade_font(void);

#endif // SR_SHOW_BELLOWS_WORDS_H
