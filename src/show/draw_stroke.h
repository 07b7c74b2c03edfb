// SPDX-License-Identifier: GPL-3.0-or-later

// One note on the bellows line.

#ifndef SR_SHOW_DRAW_STROKE_H
#define SR_SHOW_DRAW_STROKE_H

#include "bellows_geometry.h"
#include "pen.h"

/// Half of the line's thickness.
#define SR_STROKE_HALF 4.2
/// How far a tick or a turn reaches over and under the middle of the line.
#define SR_STROKE_MARK 7.0

/// Draw the part of a stroke that lies on a line of the page, with its cut and its air. All lengths
/// of signs are times `size`.
void sr_draw_stroke(const SrPen* pen, const SrDrawnStroke* stroke, const SrBellowsPiece* piece,
                    double size);
/// Draw the mark of a turn; after all strokes, since it lies between two.
void sr_draw_turn(const SrPen* pen, double x, double y, double size);

#endif // SR_SHOW_DRAW_STROKE_H
