// SPDX-License-Identifier: GPL-3.0-or-later

// Placing words beside a line so that they overlap neither the line nor one another.

#ifndef SR_SHOW_LABEL_PLACE_H
#define SR_SHOW_LABEL_PLACE_H

#include "bellows_geometry.h"

/// Areas to keep clear. The caller provides the arrays.
typedef struct {
  const SrBellowsPiece* pieces; ///< The line, from left to right
  size_t piece_count;
  double half; ///< Half of its thickness, including clearance
  double left; ///< Limits for words
  double right;
  SrArea* taken; ///< Areas used so far
  size_t taken_count;
  size_t room; ///< Capacity of `taken`
} SrLabelField;

/// Keep an area clear. Does nothing if the array is full.
void sr_label_take(SrLabelField* field, const SrArea* area);

/**
   Find a place as near as possible to the line, above or below it.

   @param x     Preferred left edge; moved left if the words would pass the right limit.
   @param above Preferred side; the other is used if it is much nearer.
   @param moved Receives the distance from the preferred place; may be NULL.
*/
SrArea sr_label_place(SrLabelField* field, double x, double width, double height, bool above,
                      double* moved);

/// Whether a rectangle is clear of the line and of all used areas.
bool sr_label_is_free(const SrLabelField* field, const SrArea* area);

#endif // SR_SHOW_LABEL_PLACE_H
