// SPDX-License-Identifier: GPL-3.0-or-later

// Layout of a page: title, key, the lines of the phrase, and then the buttons.

#ifndef SR_SHOW_SHEET_H
#define SR_SHOW_SHEET_H

#include "drawing.h"
#include "pen.h"

#include <steadyreed/status.h>

/// Contents of a sheet.
typedef struct {
  const char* title;   ///< Valid UTF-8, "" for none
  const char* remark;  ///< A line under it, "" for none
  const char* caption; ///< Above the buttons of a planned phrase, "" for none
  SrDrawnLayout layout;
  SrDrawnPhrase phrase; ///< Without bars: only the buttons
  size_t bars_a_line;   ///< 0 to choose
} SrSheetContent;

/// A sheet, laid out.
typedef struct SrSheetImpl SrSheet;

/**
   Lay a sheet out.

   @param content Must outlive the sheet.
   @param paged   A4 pages; otherwise one page, as tall as needed.
   @param sheet   Receives it; NULL on error.
   @return SR_OK, SR_NOT_FOUND (no font with letters) or SR_NO_MEMORY.
*/
SrStatus sr_sheet_new(const SrSheetContent* content, bool paged, SrSheet** sheet);
/// Free; NULL does nothing.
void sr_sheet_del(SrSheet* sheet);
/// Size of each page, points.
double sr_sheet_width(const SrSheet* sheet);
double sr_sheet_height(const SrSheet* sheet);
/// Number of pages, at least 1.
size_t sr_sheet_pages(const SrSheet* sheet);
void sr_sheet_draw(const SrSheet* sheet, const SrPen* pen, size_t page);

#endif // SR_SHOW_SHEET_H
