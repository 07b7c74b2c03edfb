// SPDX-License-Identifier: GPL-3.0-or-later

// Where the buttons lie, as the player sees them looking down on the box.

#ifndef SR_SHOW_LAYOUT_GEOMETRY_H
#define SR_SHOW_LAYOUT_GEOMETRY_H

#include "drawing.h"

#include <steadyreed/status.h>

/// Where a button lies.
typedef struct {
  double x; ///< Its middle
  double y;
  bool own_finger; ///< It lies under another finger than the row of words over the hand tells
} SrButtonPlace;

/// A finger over the columns that it reaches.
typedef struct {
  SrFinger finger;
  double left;
  double right;
  double left_y;  ///< Height of its bracket at the left
  double right_y; ///< … and at the right
} SrFingerPlace;

/// A hand.
typedef struct {
  SrArea area;
  SrFingerPlace fingers[SR_MOST_COLUMNS];
  size_t finger_count;
} SrHandPlace;

/// The whole, from 0, 0.
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
   Find the places.

   @param width  Room; all of it is used unless the columns would be wider than `most_pitch`.
   @param most_height Room; the columns come closer if it does not do.
   @param places Receives them; clear with sr_layout_places_clear().
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_layout_places(const SrDrawnLayout* layout, double width, double most_height,
                          double most_pitch, SrLayoutPlaces* places);
/// Free what it holds.
void sr_layout_places_clear(SrLayoutPlaces* places);

#endif // SR_SHOW_LAYOUT_GEOMETRY_H
