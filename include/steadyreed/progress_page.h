// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file progress_page.h
   A4 pages of progress, to pin up: what got better and what did not as the largest words, the time
   played on each day, and a chart of each figure over days. One page for each phrase.

   The file extension selects the format, as for sr_page_takes(): `.pdf` has a page for each phrase,
   `.svg` and `.png` a file for each. Words can be selected in a PDF, and its fonts are embedded.
*/

#ifndef STEADYREED_PROGRESS_PAGE_H
#define STEADYREED_PROGRESS_PAGE_H

#include <steadyreed/declarations.h>
#include <steadyreed/progress.h>
#include <steadyreed/status.h>

#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// What the pages show. Nothing of it is needed after sr_page_progress().
typedef struct {
  const SrPhraseProgress* phrases; ///< Each with all days that are to be shown, at least one
  size_t phrase_count;             ///< At least 1
  const SrPracticeDay* every;      ///< Days of all phrases together, in order; NULL for none
  size_t every_count;
  int today; ///< As by sr_moment_day(): the last day of the axis for phrases that were practised
             ///< in the last SR_TREND_WINDOW days
} SrProgressPages;

/**
   Write the pages. Everything is drawn before anything is written, and if a file cannot be written,
   those written before it are removed.

   @param path Ends in .pdf, .svg or .png, in any case. Where each of several phrases has a file of
               its own, their names are those of sr_page_take_path().
   @return As sr_page_plan(); SR_BAD_ARGUMENT for no phrase, or one without a day.
*/
SrStatus sr_page_progress(const char* path, const SrProgressPages* pages, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_PROGRESS_PAGE_H
