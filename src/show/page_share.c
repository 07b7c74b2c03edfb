// SPDX-License-Identifier: GPL-3.0-or-later

#include "page_share.h"

/// Height of lines from one on.
static double
height_from(const SrPageLine* const lines, const size_t first, const size_t count,
            const double between)
{
  double height = 0.0;
  for (size_t i = first; i < count; ++i) {
    height += lines[i].height + (i > first ? between : 0.0);
  }
  return height;
}

/// Whether a part should begin the second page.
static bool
turns_page(const SrPageLine* const lines, const size_t line, const size_t count,
           const SrPageRoom* const room)
{
  return line > 0 && lines[line].begins &&
         height_from(lines, 0, count, room->between) > room->first &&
         height_from(lines, line, count, room->between) + room->last <= room->other;
}

size_t
sr_page_share(const SrPageLine* const lines, const size_t count, const SrPageRoom* const room,
              size_t* const firsts, double* const left)
{
  size_t pages = 1;
  firsts[0] = 0;
  *left = room->first;
  for (size_t i = 0; i < count; ++i) {
    const bool first = firsts[pages - 1] == i;
    const double height = lines[i].height + (first ? 0.0 : room->between);
    if (!first && (height > *left || (pages == 1 && turns_page(lines, i, count, room)))) {
      firsts[pages++] = i;
      *left = room->other - lines[i].height;
    } else {
      *left -= height;
    }
  }
  firsts[pages] = count;
  return pages;
}
