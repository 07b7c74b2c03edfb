// SPDX-License-Identifier: GPL-3.0-or-later

// Heights of the rows of words around the bellows line. Lengths are in points.

#ifndef SR_SHOW_BELLOWS_ROWS_H
#define SR_SHOW_BELLOWS_ROWS_H

#include "pen.h"

/// Points in a millimetre.
#define SR_POINTS_A_MM (72.0 / 25.4)

// Heights of capital letters at scale 1, mm. At two metres a letter of 8 mm is seen under 14
// minutes of arc, nearly three times the 5 that normal sight needs (ISO 8596).
#define SR_NAME_MM 8.1   ///< Of notes
#define SR_BUTTON_MM 5.1 ///< Of their buttons
#define SR_SMALL_MM 2.7  ///< Of fingers, cuts and air

/// Height of a row with fingers in rings, against its capitals.
#define SR_RING 1.25

/// Rows at one size of letters.
typedef struct {
  double scale;
  double name; ///< Height of capitals
  double button;
  double small;
  double heading;
  double name_size; ///< Size of their font
  double button_size;
  double small_size;
  double heading_size;
  double gap;        ///< Between two rows
  double lane;       ///< Height of all words of the notes of one direction
  double empty_lane; ///< Height of a lane without words
  double number;     ///< Height of the row of bar numbers
  double strip;      ///< Height of a heading
  double box;        ///< Least height of the bellows
  size_t sounds;     ///< Most lower notes of a chord
} SrBellowsRows;

/// Calculate them for a size of letters.
void sr_bellows_rows(const SrPen* pen, const SrDrawnPhrase* phrase, double scale,
                     SrBellowsRows* rows);

#endif // SR_SHOW_BELLOWS_ROWS_H
