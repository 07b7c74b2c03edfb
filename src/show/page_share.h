// SPDX-License-Identifier: GPL-3.0-or-later

// Which lines of a sheet are on which page.

#ifndef SR_SHOW_PAGE_SHARE_H
#define SR_SHOW_PAGE_SHARE_H

#include <stdbool.h>
#include <stddef.h>

/// A line.
typedef struct {
  double height;
  bool begins; ///< A part begins with it
} SrPageLine;

/// The room on the pages, points.
typedef struct {
  double first;
  double other;   ///< On each further page
  double between; ///< Between two lines
  double last;    ///< What follows after the last line needs this much; 0 for nothing
} SrPageRoom;

/**
   Share lines out over pages. If two pages are needed and the second can take a whole part, this
   part begins there.

   @param firsts Receives the first line of each page, and the line count after the last page; has
                 room for count + 2 numbers.
   @param left   Receives the height that is left on the last page.
   @return Number of pages, at least 1.
*/
size_t sr_page_share(const SrPageLine* lines, size_t count, const SrPageRoom* room, size_t* firsts,
                     double* left);

#endif // SR_SHOW_PAGE_SHARE_H
