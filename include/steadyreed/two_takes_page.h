// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file two_takes_page.h
   One A4 page of two takes of a phrase: what differs, the best round of each one above the other as
   in two_rounds.h, the figures, and bar by bar what went wrong.

   The file extension selects the format, as for sr_page_plan(): `.pdf`, `.svg` or `.png`. Words can
   be selected in a PDF, and its fonts are embedded.
*/

#ifndef STEADYREED_TWO_TAKES_PAGE_H
#define STEADYREED_TWO_TAKES_PAGE_H

#include <steadyreed/declarations.h>
#include <steadyreed/instrument.h>
#include <steadyreed/plan.h>
#include <steadyreed/show_two_takes.h>
#include <steadyreed/status.h>

SR_BEGIN_DECLARATIONS

/// What the page shows.
typedef struct {
  SrShownTwo shown;
  const SrPlan* plan;             ///< Of the phrase; NULL without, and if the keys differ
  const SrInstrument* instrument; ///< Whose buttons the plan names; NULL without a plan
} SrTwoTakesPage;

/**
   Draw the page and write it.

   @param path Ends in .pdf, .svg or .png, in any case.
   @return As sr_page_plan().
*/
SrStatus sr_page_two_takes(const char* path, const SrTwoTakesPage* page, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_TWO_TAKES_PAGE_H
