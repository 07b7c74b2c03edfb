// SPDX-License-Identifier: GPL-3.0-or-later

// Geometry of the bellows line: which bars are on a line of the page, and the position of a time
// and an opening in its box.

#ifndef SR_SHOW_BELLOWS_GEOMETRY_H
#define SR_SHOW_BELLOWS_GEOMETRY_H

#include "drawing.h"

#include <steadyreed/status.h>

/// Share of the bellows at either end that counts as low room.
#define SR_LOW_ROOM 0.2

/// One line of the page.
typedef struct {
  double from; ///< Time at its left end
  double to;   ///< Time at which its last bar ends
  size_t first_bar;
  size_t bar_count; ///< Bars with a part on this line, at least 1
  size_t first_stroke;
  size_t stroke_count; ///< Strokes with a part on this line
  size_t part;         ///< The part that begins here; SR_BELLOWS_NONE inside a part
  size_t like;         ///< The first of the earlier bars that are the same, for a line that only
                       ///< names them; SR_BELLOWS_NONE for a line with notes
  double low;          ///< Opening at the bottom of its box, 0 to 1
  double high;         ///< Opening at its top
  bool draws;          ///< It has a drawn note
  bool presses;        ///< It has a pressed note
} SrBellowsSystem;

/// No such index.
#define SR_BELLOWS_NONE SIZE_MAX

/// Which bars that are the same as earlier ones are only named.
typedef enum {
  SR_REFER_REPEATS, ///< Three or more in a row that have the numbers of the earlier ones
  SR_REFER_SEVERAL, ///< Two or more in a row
  SR_REFER_ALL,     ///< Also single ones, as earlier ones of their part or with their number
} SrRefer;
#define SR_REFERS 3

/**
   Break a phrase into lines of `bars_a_line` bars. A part begins a line. A pickup does not count as
   a bar; where the meter changes, a line holds about as much time as the others; a bar as long as
   several others is broken before a note.

   All lines show equally much of the bellows, no more than the notes of any of them need, so that
   slopes can be compared. A line with notes in low room shows that end of the bellows.

   @param bars_a_line At least 1.
   @param refer Which bars that are the same as earlier ones are only named.
   @param systems Receives them; free() it. NULL on error.
   @param count Receives their number, at least 1.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_bellows_systems(const SrDrawnPhrase* phrase, size_t bars_a_line, SrRefer refer,
                            SrBellowsSystem** systems, size_t* count);

/// The box of one line.
typedef struct {
  SrArea area;
  double pad;      ///< Margin at both, half of the line's thickness, to keep the line inside
  double low;      ///< Opening at its bottom
  double high;     ///< Opening at its top, over `low`
  double from;     ///< Time at its left edge
  double per_time; ///< Width of one unit of time
} SrBellowsBox;

/// Position of a time.
double sr_bellows_x(const SrBellowsBox* box, double time);
/// Position of an opening; values outside the box are moved to its edge.
double sr_bellows_y(const SrBellowsBox* box, double opening);

/// Time of a beat of a bar, `index` from 0; false beyond the last. Those of a pickup are counted
/// from its end.
bool sr_bellows_beat(const SrDrawnBar* bar, size_t index, double* time);

/// The part of a stroke on one line.
typedef struct {
  double x0;
  double y0;
  double x1;
  double y1;
  bool begins; ///< The stroke begins here
  bool ends;   ///< The stroke ends here
} SrBellowsPiece;

/**
   The part of a stroke between two times.

   @return Whether there is one.
*/
bool sr_bellows_piece(const SrBellowsBox* box, const SrDrawnStroke* stroke, double from, double to,
                      SrBellowsPiece* piece);

#endif // SR_SHOW_BELLOWS_GEOMETRY_H
