// SPDX-License-Identifier: GPL-3.0-or-later

// The bellows line: time runs to the right, the line climbs on a draw and falls on a press. Laid
// out first, so that its owner knows how tall each line of the page is, and drawn then.

#ifndef SR_SHOW_DRAW_BELLOWS_H
#define SR_SHOW_DRAW_BELLOWS_H

#include "bellows_geometry.h"
#include "pen.h"

#include <steadyreed/status.h>

/// A phrase laid out on lines.
typedef struct SrBellowsPictureImpl SrBellowsPicture;

/**
   Lay a phrase out.

   @param pen         Only measures words; need not be the one that draws.
   @param phrase      Must outlive the picture.
   @param width       Of a line, words at its left included.
   @param height      Where all lines fit into this at larger letters, these are taken.
   @param bars_a_line 0 to choose so many, and letters so large, that the words fit their notes.
   @param picture     Receives it; NULL on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_bellows_picture_new(const SrPen* pen, const SrDrawnPhrase* phrase, double width,
                                double height, size_t bars_a_line, SrBellowsPicture** picture);
/// Free; NULL does nothing.
void sr_bellows_picture_del(SrBellowsPicture* picture);
/// Lines, at least 1.
size_t sr_bellows_picture_systems(const SrBellowsPicture* picture);
/// Height of a line, with all words over and under it.
double sr_bellows_picture_height(const SrBellowsPicture* picture, size_t system);
/// Draw a line. `first` of its page says in words what the shaded parts are, where there is room.
void sr_bellows_picture_draw(const SrBellowsPicture* picture, const SrPen* pen, size_t system,
                             double left, double top, bool first);

/// Draw the key of all signs; returns its height. With `pen` NULL it is only measured.
double sr_draw_bellows_key(const SrPen* pen, double left, double top, double width);

#endif // SR_SHOW_DRAW_BELLOWS_H
