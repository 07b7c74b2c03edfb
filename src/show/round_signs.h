// SPDX-License-Identifier: GPL-3.0-or-later

// The signs on the notes of a round, each with a shape of its own. Lengths follow the size of
// letters.

#ifndef SR_SHOW_ROUND_SIGNS_H
#define SR_SHOW_ROUND_SIGNS_H

#include "bellows_geometry.h"
#include "theme.h"

/// Width of a tick, at a size of letters.
#define SR_TICK_WIDTH 0.2
/// Half of the width of an arrowhead.
#define SR_ARROWHEAD 0.32

/// Kinds of tick.
typedef enum {
  SR_TICK_CLEAN,
  SR_TICK_HOLLOW, ///< Written, and not played yet
  SR_TICK_ABSENT, ///< Written, and not heard: hollow, in the colour of faults
  SR_TICK_STRAY,  ///< Heard, and not written: with a ring on top
} SrTick;

/// Where a sign is drawn.
typedef struct {
  const SrPen* pen;
  const SrTheme* theme;
  double x;
  double y;    ///< Middle of the note
  double half; ///< Half of the note's thickness
  double size; ///< Of letters
} SrSignPlace;

/// A tick across a note, from `x` on.
void sr_sign_tick(const SrSignPlace* place, SrTick tick);
/// A filled block from `x` on, at least as wide as a tick; returns where it ends.
double sr_sign_block(const SrSignPlace* place, double width);
/// A cross about `x`.
void sr_sign_cross(const SrSignPlace* place);
/// An arrowhead under the line that points at `x`.
void sr_sign_arrowhead(const SrSignPlace* place);
/// Stroke the path with dashes.
void sr_sign_dashes(const SrPen* pen, SrColour colour, double size);
/// A bar over two notes.
void sr_sign_bar(const SrPen* pen, SrColour colour, double from, double to, double y, double size);
/// A wave between two points.
void sr_sign_wave(const SrPen* pen, SrColour colour, const SrBellowsPiece* piece, double size);

#endif // SR_SHOW_ROUND_SIGNS_H
