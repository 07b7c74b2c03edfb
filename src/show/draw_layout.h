// SPDX-License-Identifier: GPL-3.0-or-later

// The picture of an instrument's buttons.

#ifndef SR_SHOW_DRAW_LAYOUT_H
#define SR_SHOW_DRAW_LAYOUT_H

#include "layout_geometry.h"
#include "pen.h"

/**
   Draw the buttons, the hands and the bellows between them, with the upper left corner at a given
   place.
*/
void sr_draw_layout(const SrPen* pen, const SrDrawnLayout* layout, const SrLayoutPlaces* places,
                    double left, double top);

/**
   Draw its key: which half of a button is which, and what is emphasised.

   @param planned Explain the filled halves.
   @param size    1 is normal.
   @return Its height; if `pen` is NULL it is only measured.
*/
double sr_draw_layout_key(const SrPen* pen, bool planned, double left, double top, double width,
                          double size);

/// "index", "ring" …
const char* sr_finger_word(SrFinger finger);

#endif // SR_SHOW_DRAW_LAYOUT_H
