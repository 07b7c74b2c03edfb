// SPDX-License-Identifier: GPL-3.0-or-later

// Layout of the page of an assessed take: title, advice, the round that it is from, all rounds
// small, what went wrong beside scores and levels, and how it was measured.

#ifndef SR_SHOW_TAKE_SHEET_H
#define SR_SHOW_TAKE_SHEET_H

#include "pen.h"

#include <steadyreed/take_page.h>

/// A page, laid out.
typedef struct SrTakeSheetImpl SrTakeSheet;

/**
   Lay a page out, A4.

   @param page  Must outlive the sheet.
   @param sheet Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT (a take that was not judged, a plan of another phrase),
           SR_NOT_FOUND (no font with letters) or SR_NO_MEMORY.
*/
SrStatus sr_take_sheet_new(const SrTakePage* page, SrTakeSheet** sheet, SrError* error);
/// Free; NULL does nothing.
void sr_take_sheet_del(SrTakeSheet* sheet);
/// The title, for the file.
const char* sr_take_sheet_title(const SrTakeSheet* sheet);
/// Draw it.
void sr_take_sheet_draw(const SrTakeSheet* sheet, const SrPen* pen);

#endif // SR_SHOW_TAKE_SHEET_H
