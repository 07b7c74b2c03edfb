// SPDX-License-Identifier: GPL-3.0-or-later

// Places for words beside a line, so that none lies on the line or on another.

#ifndef SR_SHOW_LABEL_PLACE_H
#define SR_SHOW_LABEL_PLACE_H

#include "bellows_geometry.h"

/// What is to be kept clear. The owner gives the arrays.
typedef struct {
  const SrBellowsPiece* pieces; ///< The line, from left to right
  size_t piece_count;
  double half; ///< Half of its thickness, with the air around it
  double left; ///< Words stay between these two
  double right;
  SrArea* taken; ///< Places given or taken so far
  size_t taken_count;
  size_t room; ///< Of `taken`
} SrLabelField;

/// Keep a place clear. Without room nothing is done.
void sr_label_take(SrLabelField* field, const SrArea* area);

/**
   Find a place and take it: as near to the line as can be, over or under it.

   @param x     Where it should begin; moved to the left if it would go beyond the right.
   @param above The side that it should be on; the other is taken if that is much nearer.
   @param moved Receives how far it is from where it should be; may be NULL.
*/
SrArea sr_label_place(SrLabelField* field, double x, double width, double height, bool above,
                      double* moved);

/// Whether a rectangle is clear of the line and of all that is taken.
bool sr_label_is_free(const SrLabelField* field, const SrArea* area);

#endif // SR_SHOW_LABEL_PLACE_H
