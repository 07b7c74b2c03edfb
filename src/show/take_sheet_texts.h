// SPDX-License-Identifier: GPL-3.0-or-later

// The words on the page of an assessed take.

#ifndef SR_SHOW_TAKE_SHEET_TEXTS_H
#define SR_SHOW_TAKE_SHEET_TEXTS_H

#include "page_words.h"

#include <steadyreed/take_page.h>

/// A line of what went wrong.
typedef struct {
  const char* place; ///< "bar 2", "pickup"; "" about the whole round
  const char* name;  ///< "2nd A"; "" about the whole round
  const char* words;
} SrPageFault;

/// The words; all texts can be drawn.
typedef struct {
  const char* title;
  const char* facts; ///< Bars, date, tempo, the A
  const char* advice;
  const char* heading; ///< Which round
  const char* summary; ///< What it was like
  const char* foot;    ///< How it was measured
  SrPageFault* faults;
  size_t fault_count;
  const char** notes; ///< Remarks, sentences
  size_t note_count;
  SrPageWords kept;
} SrTakeTexts;

/**
   Write the words of a page about one of its rounds.

   @param texts Receives them; clear with sr_take_texts_clear(), also on error. Must not be moved.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_take_texts_make(const SrTakePage* page, size_t round, SrTakeTexts* texts);
/// Free what they hold.
void sr_take_texts_clear(SrTakeTexts* texts);

#endif // SR_SHOW_TAKE_SHEET_TEXTS_H
