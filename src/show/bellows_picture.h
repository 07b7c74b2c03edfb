// SPDX-License-Identifier: GPL-3.0-or-later

// A phrase laid out on lines: made by sr_bellows_picture_new(), read by the drawing functions.

#ifndef SR_SHOW_BELLOWS_PICTURE_H
#define SR_SHOW_BELLOWS_PICTURE_H

#include "bellows_geometry.h"
#include "bellows_words.h"
#include "draw_bellows.h"

#define SR_BELLOWS_HEIGHT 108.0 ///< From shut to full
#define SR_BELLOWS_LEFT 26.0    ///< For the words on the left
#define SR_BELLOWS_RIGHT 2.0    ///< Half of the last bar line

/// Words beside the line.
typedef struct {
  SrArea area; ///< Relative to the system's left and the box's top
  size_t stroke;
  SrWordsKind kind;
  bool thread;
} SrBellowsLabel;

/// A line of the page.
typedef struct {
  SrBellowsSystem bars;
  SrBellowsBox box; ///< Its area begins at SR_BELLOWS_LEFT, 0
  SrBellowsLabel* labels;
  size_t label_count;
  double over; ///< Height of what is above the box, including numbers
  double under;
  SrArea shade_words; ///< Place for the words for the shaded parts; width 0 for none
} SrBellowsLine;

struct SrBellowsPictureImpl {
  const SrDrawnPhrase* phrase;
  SrBellowsLine* systems;
  size_t system_count;
  double width;
  double scale;     ///< Of letters
  double sign_size; ///< Of strokes and their marks
  double box_height;
  double shade_width;
};

#endif // SR_SHOW_BELLOWS_PICTURE_H
