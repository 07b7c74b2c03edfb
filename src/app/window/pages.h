// SPDX-License-Identifier: GPL-3.0-or-later

// A longer phrase is shown in pages while it is played, so that its notes can be read from afar.

#ifndef SR_WINDOW_PAGES_H
#define SR_WINDOW_PAGES_H

#include <steadyreed/phrase.h>

#include <stddef.h>

/// Whole bars of a page.
#define SR_PAGE_BARS 4u

/// Bars of the phrase, as in SrPicturedRound.
typedef struct {
  size_t first;
  size_t count; ///< 0 for none
} SrBarRange;

/**
   The page on which a time lies. A pickup is not counted, and is on the page of the bar after it.

   @param time Whole notes from the start of the phrase; NAN for the first page.
*/
SrBarRange sr_page_at(const SrPhrase* phrase, double time);

#endif // SR_WINDOW_PAGES_H
