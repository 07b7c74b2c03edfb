// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file page.h
   Pictures for a screen, a music stand or a letter: an instrument's buttons, and a planned phrase
   on the bellows line.

   The file extension selects the format: `.pdf` (A4 pages, as many as needed), `.svg` or `.png`
   (one picture, as tall as needed). A picture that cannot be drawn completely is not written; if
   writing fails, the unfinished file is removed.
*/

#ifndef STEADYREED_PAGE_H
#define STEADYREED_PAGE_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/phrase.h>
#include <steadyreed/plan.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Most bars on one line.
#define SR_PAGE_MOST_BARS_A_LINE 8u

/// Appearance of a page; all zero is the default.
typedef struct {
  const char* remark;   ///< A line under the title, such as how the plan was made; NULL for none
  double bpm;           ///< Tempo shown under the title, pulses a minute; 0 to leave it out
  unsigned bars_a_line; ///< 1 to SR_PAGE_MOST_BARS_A_LINE; 0 for as many as stay readable, 2 to 4,
                        ///< or 1 where the notes are very fast
  bool straight_rows;   ///< Draw rows of buttons straight, not slanted as the fingers lie
} SrPageStyle;

/**
   Write the buttons and the phrase on the bellows line.

   @param path  Ends in .pdf, .svg or .png, in any case. A new file gets the usual mode.
   @param plan  A plan of this phrase for this instrument.
   @param style NULL for all zero.
   @return SR_OK; SR_UNSUPPORTED (another extension), SR_TOO_LARGE (too long for one PNG),
           SR_BAD_ARGUMENT (a plan of another phrase or instrument, a style out of range),
           SR_NOT_FOUND (no such folder; or no font), SR_NO_PERMISSION, SR_WRITE_FAILED or
           SR_NO_MEMORY.
*/
SrStatus sr_page_plan(const char* path, const SrPhrase* phrase, const SrInstrument* instrument,
                      const SrPlan* plan, const SrPageStyle* style, SrError* error);

/// Write the buttons alone, on one landscape page. Arguments and errors as for sr_page_plan().
SrStatus sr_page_layout(const char* path, const SrInstrument* instrument, const SrPageStyle* style,
                        SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_PAGE_H
