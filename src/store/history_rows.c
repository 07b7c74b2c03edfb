// SPDX-License-Identifier: GPL-3.0-or-later

#include "history_rows.h"

#include <stdlib.h>

int
sr_history_rows(sqlite3_stmt* const query, const size_t size, SrHistoryTakeRow* const take,
                void** const rows, size_t* const count)
{
  *rows = NULL;
  *count = 0;
  int code;
  while ((code = sqlite3_step(query)) == SQLITE_ROW) {
    // Room for one more at each power of two
    const size_t n = *count;
    void* const more = n & (n - 1) ? *rows : realloc(*rows, (n ? 2 * n : 1) * size);
    if (!more) {
      return SQLITE_NOMEM;
    }
    *rows = more;
    ++*count;
    if (!take(query, (char*)more + n * size)) {
      return SQLITE_NOMEM;
    }
  }
  return code;
}
