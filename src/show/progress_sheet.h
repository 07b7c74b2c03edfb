// SPDX-License-Identifier: GPL-3.0-or-later

// Layout of the page of a phrase's progress: its name, what got better, the picture, and how it was
// measured.

#ifndef SR_SHOW_PROGRESS_SHEET_H
#define SR_SHOW_PROGRESS_SHEET_H

#include "pen.h"

#include <steadyreed/progress_page.h>

/// A page, laid out.
typedef struct SrProgressSheetImpl SrProgressSheet;

/**
   Lay a page out, A4.

   @param pages Not needed afterwards.
   @param index Of the phrase.
   @param sheet Receives it; NULL on error.
   @return SR_OK, SR_BAD_ARGUMENT (a phrase without a day), SR_NOT_FOUND (no font with letters) or
           SR_NO_MEMORY.
*/
SrStatus sr_progress_sheet_new(const SrProgressPages* pages, size_t index, SrProgressSheet** sheet,
                               SrError* error);
/// Free; NULL does nothing.
void sr_progress_sheet_del(SrProgressSheet* sheet);
/// The title, for the file.
const char* sr_progress_sheet_title(const SrProgressSheet* sheet);
/// Draw it.
void sr_progress_sheet_draw(const SrProgressSheet* sheet, const SrPen* pen);

#endif // SR_SHOW_PROGRESS_SHEET_H
