// SPDX-License-Identifier: GPL-3.0-or-later

// The bellows line: time runs to the right; the line rises on a draw and falls on a press. The
// words of drawn notes are in a lane above it, those of pressed notes in a lane below it, always.
// Layout is separate from drawing, so that the caller knows how tall each line of the page is.

#ifndef SR_SHOW_DRAW_BELLOWS_H
#define SR_SHOW_DRAW_BELLOWS_H

#include "bellows_way.h"
#include "pen.h"

#include <steadyreed/status.h>

/// A phrase laid out on lines.
typedef struct SrBellowsPictureImpl SrBellowsPicture;

/**
   Lay a phrase out.

   @param pen     Only measures words; need not be the one that draws.
   @param phrase  Must outlive the picture.
   @param width   Width of a line, including the words on its left.
   @param way     How to break it.
   @param picture Receives it; NULL on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_bellows_picture_new(const SrPen* pen, const SrDrawnPhrase* phrase, double width,
                                const SrBellowsWay* way, SrBellowsPicture** picture);
/// Free; NULL does nothing.
void sr_bellows_picture_del(SrBellowsPicture* picture);
/// Number of lines, at least 1.
size_t sr_bellows_picture_systems(const SrBellowsPicture* picture);
/// Height of a line, including all words above and below it.
double sr_bellows_picture_height(const SrBellowsPicture* picture, size_t system);
/// Whether a part begins with a line.
bool sr_bellows_picture_begins(const SrBellowsPicture* picture, size_t system);
/// Draw a line.
void sr_bellows_picture_draw(const SrBellowsPicture* picture, const SrPen* pen, size_t system,
                             double left, double top);

/// Draw the key of all signs; returns its height. If `pen` is NULL it is only measured.
double sr_draw_bellows_key(const SrPen* pen, double left, double top, double width);

#endif // SR_SHOW_DRAW_BELLOWS_H
