// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file page.h
   Pictures for a screen, a music stand or a letter: an instrument's buttons, and a planned phrase
   on the bellows line.

   A planned phrase is drawn for reading at two metres: drawn notes have their words above the line,
   pressed ones below it, with octave, button and finger. A part that is played again in the same
   fingering is drawn once, with words that name the bars and how often; where that makes the
   letters larger, single bars that come again are only named as well. Up to about eight bars have
   their notes on one A4 page with names at least 8 mm high and buttons' names at least 5 mm; more
   bars are on two pages, with names of 4 mm or more, and only what does not fit into that is on
   further pages with smaller letters. The instrument's buttons follow, on the last of these pages
   if there is room.

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
  const char* remark;   ///< Added to the key and the tempo under the title, such as the style and
                        ///< which part or bars of the tune; NULL for none
  double bpm;           ///< Tempo shown under the title, pulses a minute; 0 to leave it out
  unsigned bars_a_line; ///< 1 to SR_PAGE_MOST_BARS_A_LINE; 0 for the number with which the letters
                        ///< are largest, 1 to 4
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
