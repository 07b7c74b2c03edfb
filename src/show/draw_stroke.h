// SPDX-License-Identifier: GPL-3.0-or-later

// One note on the bellows line.

#ifndef SR_SHOW_DRAW_STROKE_H
#define SR_SHOW_DRAW_STROKE_H

#include "bellows_geometry.h"
#include "pen.h"

/// Half of the line's thickness.
#define SR_STROKE_HALF 4.2
/// Extent of a tick or turn mark above and below the middle of the line.
#define SR_STROKE_MARK 7.0

/// Draw the part of a stroke on a line of the page, with its cut and its air. All sizes of signs
/// are multiplied by `size`.
void sr_draw_stroke(const SrPen* pen, const SrDrawnStroke* stroke, const SrBellowsPiece* piece,
                    double size);
/// Draw a turn mark. Call it after drawing all strokes, since it overlaps two.
void sr_draw_turn(const SrPen* pen, double x, double y, double size);

#endif // SR_SHOW_DRAW_STROKE_H
