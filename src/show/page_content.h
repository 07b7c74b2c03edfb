// SPDX-License-Identifier: GPL-3.0-or-later

// A phrase, an instrument and a plan converted to plain values for drawing.

#ifndef SR_SHOW_PAGE_CONTENT_H
#define SR_SHOW_PAGE_CONTENT_H

#include "page_phrase.h"
#include "page_words.h"
#include "sheet.h"

#include <steadyreed/page.h>

/// The values to draw, and the texts they point to.
typedef struct {
  SrSheetContent sheet;
  SrDrawnButton* buttons;
  SrPagePhrase phrase;
  SrPageWords words;
} SrPageContent;

/**
   Collect the values to draw.

   @param phrase  NULL, like `plan`, for the buttons alone.
   @param content Receives it; clear with sr_page_content_clear(), also on error. Must not be moved.
   @return SR_OK, SR_BAD_ARGUMENT or SR_NO_MEMORY.
*/
SrStatus sr_page_content_make(const SrPhrase* phrase, const SrInstrument* instrument,
                              const SrPlan* plan, const SrPageStyle* style, SrPageContent* content,
                              SrError* error);
/// Free what it holds.
void sr_page_content_clear(SrPageContent* content);

#endif // SR_SHOW_PAGE_CONTENT_H
