// SPDX-License-Identifier: GPL-3.0-or-later

// Positions of the buttons, as the player sees them looking down on the box.

#ifndef SR_SHOW_LAYOUT_GEOMETRY_H
#define SR_SHOW_LAYOUT_GEOMETRY_H

#include "drawing.h"

#include <steadyreed/status.h>

/// Position of a button.
typedef struct {
  double x; ///< Centre
  double y;
  bool own_finger; ///< Its finger is not the one shown above the column
} SrButtonPlace;

/// A finger above the columns it plays.
typedef struct {
  SrFinger finger;
  double left;
  double right;
  double left_y;  ///< Height of its bracket at the left end
  double right_y; ///< and at the right end
} SrFingerPlace;

/// A hand.
typedef struct {
  SrArea area;
  SrFingerPlace fingers[SR_MOST_COLUMNS];
  size_t finger_count;
} SrHandPlace;

/// The whole layout, from 0, 0.
typedef struct {
  SrButtonPlace* places; ///< One for each button
  SrHandPlace hands[2];
  SrArea air;    ///< The air button
  double pitch;  ///< From column to column
  double radius; ///< Of a button
  double width;
  double height;
} SrLayoutPlaces;

/**
   Calculate the positions.

   @param width  Available width; all of it is used unless the columns would be wider than
                 `most_pitch`.
   @param most_height Available height; the columns are moved closer together if it is too little.
   @param places Receives them; clear with sr_layout_places_clear().
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_layout_places(const SrDrawnLayout* layout, double width, double most_height,
                          double most_pitch, SrLayoutPlaces* places);
/// Free what it holds.
void sr_layout_places_clear(SrLayoutPlaces* places);

#endif // SR_SHOW_LAYOUT_GEOMETRY_H
