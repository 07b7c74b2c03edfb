// SPDX-License-Identifier: GPL-3.0-or-later

// Pages of progress, for the command and for the window.

#ifndef SR_APP_PROGRESS_PAGE_H
#define SR_APP_PROGRESS_PAGE_H

#include <steadyreed/progress_page.h>

/// Check the name of a page before any work. Returns an exit status, with what is wrong said.
int sr_progress_page_check(const char* path);

/// Say that there is nothing to make a page of. Returns an exit status.
int sr_progress_page_none(const char* path);

/// Refuse to write over the history. SR_OK or SR_BAD_ARGUMENT.
SrStatus sr_progress_page_spare(const SrHistory* history, const char* path, size_t phrases,
                                SrError* error);

/**
   Write a page for each phrase, with all its days.

   @param title     As for sr_progress_read().
   @param first_day As for sr_progress_read().
   @param today     As by sr_moment_day().
   @return An exit status; what is wrong was said.
*/
int sr_progress_page_write(SrHistory* history, const char* path, const char* title, int first_day,
                           int today);

#endif // SR_APP_PROGRESS_PAGE_H
