// SPDX-License-Identifier: GPL-3.0-or-later

#include "class_progress.h"

#include "say.h"

#include <string.h>

/// Longest bar, columns.
#define LONGEST_BAR 40u
/// Columns for the words beside it.
#define WORDS_COLUMNS 40u

/// Write the line of a terminal in place of the one before.
static void
draw(const SrClassProgress* const progress, const size_t columns)
{
  char bar[LONGEST_BAR + 4] = "";
  const size_t room = columns > WORDS_COLUMNS + 12 ? columns - WORDS_COLUMNS : 0;
  const size_t width = room < LONGEST_BAR ? room : LONGEST_BAR;
  if (width > 0) {
    const size_t full = progress->total ? width * progress->done / progress->total : width;
    bar[0] = '[';
    memset(bar + 1, '#', full);
    memset(bar + 1 + full, '.', width - full);
    memcpy(bar + 1 + width, "] ", 3);
  }
  fprintf(progress->stream, "\r%s%zu of %zu takes", bar, progress->done, progress->total);
  if (progress->failed) {
    fprintf(progress->stream, ", %zu not judged", progress->failed);
  }
  // ECMA-48, EL: erase to the end of the line
  fputs("\033[K", progress->stream);
  fflush(progress->stream);
}

SrClassProgress
sr_class_progress_begin(FILE* const stream, const size_t total)
{
  const SrClassProgress progress = {.stream = stream, .total = total};
  const size_t columns = sr_say_columns(stream);
  if (columns) {
    draw(&progress, columns);
  }
  return progress;
}

void
sr_class_progress_step(SrClassProgress* const progress, const char* const path,
                       const char* const reason)
{
  ++progress->done;
  progress->failed += reason != NULL;
  const size_t columns = sr_say_columns(progress->stream);
  if (columns) {
    draw(progress, columns);
  } else {
    sr_say_format(progress->stream, "%zu of %zu  %s%s%s\n", progress->done, progress->total, path,
                  reason ? ": not judged: " : "", reason ? reason : "");
  }
}

void
sr_class_progress_end(const SrClassProgress* const progress)
{
  if (sr_say_columns(progress->stream)) {
    fputs("\r\033[K", progress->stream);
    fflush(progress->stream);
  }
}
