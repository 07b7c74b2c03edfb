// SPDX-License-Identifier: GPL-3.0-or-later

#include "tune.h"

void
sr_text_places(const char* const text, const size_t size, SrTextPlace* const places,
               const size_t count)
{
  size_t next = 0;
  size_t at = 0;
  unsigned number = 0;
  SrLine line;
  while (next < count && sr_line_next(text, size, &at, &number, &line)) {
    const size_t start = (size_t)(line.text - text);
    size_t offset = 0;
    unsigned column = 1;
    while (next < count && places[next].line <= number) {
      while (places[next].line == number && column < places[next].column && offset < line.size) {
        // Advance by one character
        size_t step = 1;
        while (offset + step < line.size &&
               sr_line_characters(&line, offset, offset + step + 1) == 1) {
          ++step;
        }
        offset += step;
        ++column;
      }
      const bool there =
          places[next].line == number && places[next].column == column && offset < line.size;
      places[next++].at = there ? start + offset : SIZE_MAX;
    }
  }
  for (; next < count; ++next) {
    places[next].at = SIZE_MAX;
  }
}
