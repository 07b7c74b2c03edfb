// SPDX-License-Identifier: GPL-3.0-or-later

#include "pages.h"

#include <math.h>

/// Times that differ by less are equal.
#define SAME 1e-9

/// Bars of the page that begins at a bar.
static size_t
bars_from(const SrPhrase* const phrase, const size_t first)
{
  const size_t count = sr_phrase_bar_count(phrase);
  size_t whole = 0;
  size_t bar = first;
  while (bar < count && (whole < SR_PAGE_BARS)) {
    whole += sr_phrase_bar(phrase, bar)->number > 0 ? 1 : 0;
    ++bar;
  }
  return bar - first;
}

SrBarRange
sr_page_at(const SrPhrase* const phrase, const double time)
{
  const size_t count = sr_phrase_bar_count(phrase);
  SrBarRange page = {0, bars_from(phrase, 0)};
  while (isfinite(time) && page.first + page.count < count &&
         time >= sr_fraction_value(sr_phrase_bar(phrase, page.first + page.count)->start) - SAME) {
    page.first += page.count;
    page.count = bars_from(phrase, page.first);
  }
  return page;
}
