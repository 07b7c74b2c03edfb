// SPDX-License-Identifier: GPL-3.0-or-later

// A planned phrase, with its repetitions folded, as plain values for drawing.

#ifndef SR_SHOW_PAGE_PHRASE_H
#define SR_SHOW_PAGE_PHRASE_H

#include "drawing.h"
#include "page_words.h"

#include <steadyreed/folded.h>
#include <steadyreed/instrument.h>
#include <steadyreed/plan.h>

/// The values to draw.
typedef struct {
  SrDrawnPhrase drawn; ///< Points to the others
  SrDrawnStroke* strokes;
  SrDrawnSound* sounds;
  SrDrawnBar* bars;
  SrDrawnPart* parts;
  SrFolded folded;
} SrPagePhrase;

/**
   Collect the values to draw.

   @param words Keeps the texts.
   @param made  Receives the values; clear with sr_page_phrase_clear(), also on error.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_page_phrase_make(const SrPhrase* phrase, const SrInstrument* instrument,
                             const SrPlan* plan, const SrSpelling* spelling, SrPageWords* words,
                             SrPagePhrase* made);
/// Free what it holds.
void sr_page_phrase_clear(SrPagePhrase* made);

#endif // SR_SHOW_PAGE_PHRASE_H
