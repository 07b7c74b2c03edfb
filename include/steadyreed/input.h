// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file input.h
   A file of text that is read whole: a tune, a layout, a style.
*/

#ifndef STEADYREED_INPUT_H
#define STEADYREED_INPUT_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/// What is read, and how.
typedef struct {
  const char* what;  ///< For errors, such as "layout"
  size_t most;       ///< Bytes it may have
  bool regular_only; ///< Refuse a pipe or a device, on which nobody may ever write
} SrInputKind;

/**
   Read a file whole; never more than it may have, however much there is.

   @param path A file, or a pipe unless only regular ones are taken.
   @param text Receives its bytes and a NUL behind them; free() it. NULL on error.
   @param size Receives how many.
   @return SR_OK, SR_NOT_FOUND (or a folder), SR_NO_PERMISSION, SR_TOO_LARGE, SR_UNSUPPORTED (no
   regular file) or SR_NO_MEMORY.
*/
SrStatus sr_input_read(const char* path, const SrInputKind* kind, char** text, size_t* size,
                       SrError* error);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_INPUT_H
