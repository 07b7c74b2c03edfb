// SPDX-License-Identifier: GPL-3.0-or-later

// All rounds of a take, small, in a row: low marks are right, tall ones wrong.

#ifndef SR_SHOW_DRAW_SMALL_ROUNDS_H
#define SR_SHOW_DRAW_SMALL_ROUNDS_H

#include "theme.h"

#include <steadyreed/judge.h>

/// Height of the row.
#define SR_SMALL_ROUNDS_HEIGHT 46.0

/// Draw them; the one with the index `chosen` has a thick frame and is always among them.
void sr_draw_small_rounds(const SrPen* pen, const SrTheme* theme, const SrAssessment* assessment,
                          size_t chosen, const SrArea* area);

#endif // SR_SHOW_DRAW_SMALL_ROUNDS_H
