// SPDX-License-Identifier: GPL-3.0-or-later

// The level about a cut: how far the note fell, when it came back, and the cut between.

#ifndef SR_SHOW_DRAW_LEVEL_H
#define SR_SHOW_DRAW_LEVEL_H

#include "theme.h"

#include <steadyreed/judge.h>
#include <steadyreed/level_curve.h>

/// Draw a curve in an area, with a title and the cut's length.
void sr_draw_level(const SrPen* pen, const SrTheme* theme, const SrLevelCurve* curve,
                   const SrNoteVerdict* note, const char* title, const SrArea* area);

#endif // SR_SHOW_DRAW_LEVEL_H
