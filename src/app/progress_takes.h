// SPDX-License-Identifier: GPL-3.0-or-later

// What `progress` does with kept takes. Each returns an exit status.

#ifndef SR_APP_PROGRESS_TAKES_H
#define SR_APP_PROGRESS_TAKES_H

#include <steadyreed/history.h>

#include <stdbool.h>
#include <stdint.h>

/// List the takes that are there, and how much room they have.
int sr_progress_list_takes(SrHistory* history);
/// Mark a take, or take its mark.
int sr_progress_mark(SrHistory* history, const char* take, bool marked);
/**
   Set the room for takes, and say what it means now.

   @param history May be NULL.
   @param let_go  Also if takes would be removed at the next practice; else it says how many, and
                  leaves the room as it is.
*/
int sr_progress_set_limit(SrHistory* history, uint64_t bytes, bool let_go);

#endif // SR_APP_PROGRESS_TAKES_H
