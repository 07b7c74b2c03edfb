// SPDX-License-Identifier: GPL-3.0-or-later

// The shape of one note on a line: a ribbon between two points.

#ifndef SR_SHOW_RIBBON_H
#define SR_SHOW_RIBBON_H

#include "bellows_geometry.h"
#include "pen.h"

/// Height of its middle at a position.
double sr_ribbon_y(const SrBellowsPiece* piece, double x);
/// Half of its vertical thickness: more than `half` where it is steep, so that it does not look
/// thin.
double sr_ribbon_half(const SrBellowsPiece* piece, double half);
/// Add the outline of its part between two positions to the path.
void sr_ribbon_path(const SrPen* pen, const SrBellowsPiece* piece, double x0, double x1,
                    double half);
/// Add the outline of a gap in its thickness, which stands for air, to the path: a valve that opens
/// and shuts.
void sr_ribbon_gap_path(const SrPen* pen, const SrBellowsPiece* piece, double x0, double x1,
                        double thickness);

#endif // SR_SHOW_RIBBON_H
