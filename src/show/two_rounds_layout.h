// SPDX-License-Identifier: GPL-3.0-or-later

// Two rounds laid out together: made by sr_two_rounds_new(), drawn here and on a page.

#ifndef SR_SHOW_TWO_ROUNDS_LAYOUT_H
#define SR_SHOW_TWO_ROUNDS_LAYOUT_H

#include "round_layout.h"

#include <steadyreed/two_rounds.h>

struct SrTwoRoundsImpl {
  SrRoundPicture* pictures[2]; ///< With the same lines, size and range of offsets
};

/// Draw both with a pen.
void sr_two_rounds_draw_with(const SrTwoRounds* rounds, const SrPen* pen, double left, double top);

#endif // SR_SHOW_TWO_ROUNDS_LAYOUT_H
