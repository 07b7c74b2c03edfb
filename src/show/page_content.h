// SPDX-License-Identifier: GPL-3.0-or-later

// A phrase, an instrument and a plan as plain values to draw.

#ifndef SR_SHOW_PAGE_CONTENT_H
#define SR_SHOW_PAGE_CONTENT_H

#include "sheet.h"

#include <steadyreed/page.h>

/// What is drawn, and the texts that it points to.
typedef struct {
  SrSheetContent sheet;
  SrDrawnButton* buttons;
  SrDrawnStroke* strokes;
  SrDrawnBar* bars;
  char* title;
  char* remark;
  char** texts;
  size_t text_count;
  size_t text_room;
} SrPageContent;

/**
   Gather what is drawn.

   @param phrase  NULL, as `plan`, for the buttons alone.
   @param content Receives it; clear with sr_page_content_clear(), also on error. Does not move.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_page_content_make(const SrPhrase* phrase, const SrInstrument* instrument,
                              const SrPlan* plan, const SrPageStyle* style, SrPageContent* content,
                              SrError* error);
/// Free what it holds.
void sr_page_content_clear(SrPageContent* content);

#endif // SR_SHOW_PAGE_CONTENT_H
