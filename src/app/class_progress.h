// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file class_progress.h
   How far the judging of a class is: one line on a terminal, a line for each take otherwise.
*/

#ifndef SR_APP_CLASS_PROGRESS_H
#define SR_APP_CLASS_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

typedef struct {
  FILE* stream;
  size_t total; ///< Takes
  size_t done;
  size_t failed; ///< Of those done
} SrClassProgress;

/// Begin, with nothing done yet.
SrClassProgress sr_class_progress_begin(FILE* stream, size_t total);
/// A take is done; `reason` is why it could not be judged, NULL if it was.
void sr_class_progress_step(SrClassProgress* progress, const char* path, const char* reason);
/// All is done, or it was stopped: leave the line free.
void sr_class_progress_end(const SrClassProgress* progress);

#endif // SR_APP_CLASS_PROGRESS_H
