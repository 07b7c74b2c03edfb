// SPDX-License-Identifier: GPL-3.0-or-later

// A phrase laid out on lines: made by sr_bellows_picture_new(), read by the drawing functions.

#ifndef SR_SHOW_BELLOWS_PICTURE_H
#define SR_SHOW_BELLOWS_PICTURE_H

#include "bellows_words.h"
#include "draw_bellows.h"

/// A line of the page.
typedef struct {
  SrBellowsSystem bars;
  SrBellowsBox box; ///< Its area begins at SR_BELLOWS_LEFT and at its place under the line's top
} SrBellowsLine;

struct SrBellowsPictureImpl {
  const SrDrawnPhrase* phrase;
  SrBellowsLine* systems;
  size_t system_count;
  SrBellowsRows rows;
  double width;
  double narrow;    ///< Width of letters against the usual one
  double sign_size; ///< Of strokes and their marks
};

#endif // SR_SHOW_BELLOWS_PICTURE_H
