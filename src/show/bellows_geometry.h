// SPDX-License-Identifier: GPL-3.0-or-later

// Where the bellows line runs: which bars stand on a line of the page, and where a time and an
// opening lie in its box.

#ifndef SR_SHOW_BELLOWS_GEOMETRY_H
#define SR_SHOW_BELLOWS_GEOMETRY_H

#include "drawing.h"

#include <steadyreed/status.h>

/// A share of the bellows at either end where they have little room left.
#define SR_LOW_ROOM 0.2

/// One line of the page.
typedef struct {
  double from; ///< Time at its left
  double to;   ///< … and where its last bar ends
  size_t first_bar;
  size_t bar_count; ///< Bars of which some lies on this line, at least 1
  size_t first_stroke;
  size_t stroke_count; ///< Strokes of which some lies on this line
} SrBellowsSystem;

/**
   Break a phrase into lines of so many bars. A pickup counts as no bar of its own; where the meter
   changes a line holds about as much time as the others; a bar as long as several others is
   broken before a note.

   @param bars_a_line At least 1.
   @param systems Receives them; free() it. NULL on error.
   @param count Receives how many, at least 1.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_bellows_systems(const SrDrawnPhrase* phrase, size_t bars_a_line,
                            SrBellowsSystem** systems, size_t* count);

/// The box of one line: its top is the ceiling (full), its bottom the floor (shut).
typedef struct {
  SrArea area;
  double pad;      ///< Kept free at both, half of the line's thickness, so that it stays inside
  double from;     ///< Time at its left
  double per_time; ///< Width of one unit of time
} SrBellowsBox;

/// Where a time lies.
double sr_bellows_x(const SrBellowsBox* box, double time);
/// Where an opening lies, 0 to 1; one beyond is put to the end.
double sr_bellows_y(const SrBellowsBox* box, double opening);

/// The part of a stroke that lies on one line.
typedef struct {
  double x0;
  double y0;
  double x1;
  double y1;
  bool begins; ///< The stroke begins here
  bool ends;   ///< … and ends here
} SrBellowsPiece;

/**
   The part of a stroke between two times.

   @return Whether there is one.
*/
bool sr_bellows_piece(const SrBellowsBox* box, const SrDrawnStroke* stroke, double from, double to,
                      SrBellowsPiece* piece);

#endif // SR_SHOW_BELLOWS_GEOMETRY_H
