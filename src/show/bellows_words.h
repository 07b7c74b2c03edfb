// SPDX-License-Identifier: GPL-3.0-or-later

// The words beside the bellows line.

#ifndef SR_SHOW_BELLOWS_WORDS_H
#define SR_SHOW_BELLOWS_WORDS_H

#include "pen.h"

/// Kinds of words.
typedef enum {
  SR_WORDS_NOTE,    ///< The note and its button
  SR_WORDS_GOES_ON, ///< A note continued from the line before, in brackets
  SR_WORDS_CUT,     ///< The cut and its button
  SR_WORDS_AIR,
} SrWordsKind;

/// Measure words; `scale` is that of the letters.
void sr_bellows_words_measure(const SrPen* pen, const SrDrawnStroke* stroke, SrWordsKind kind,
                              double scale, SrArea* area);
/// Draw words.
void sr_bellows_words_say(const SrPen* pen, const SrDrawnStroke* stroke, SrWordsKind kind,
                          double scale, const SrArea* area);

/// The words for the shaded parts, and their font.
#define SR_SHADE_WORDS "low room: speaks less readily"
SrFont sr_shade_font(void);

#endif // SR_SHOW_BELLOWS_WORDS_H
