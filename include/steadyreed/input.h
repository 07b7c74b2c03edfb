// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file input.h
   Reading a whole text file: a tune, a layout, a style.
*/

#ifndef STEADYREED_INPUT_H
#define STEADYREED_INPUT_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// What to read, and how.
typedef struct {
  const char* what;  ///< For errors, such as "layout"
  size_t most;       ///< Largest size accepted, bytes
  bool regular_only; ///< Refuse pipes and devices, which might never deliver data
} SrInputKind;

/**
   Read a whole file; never reads more than the limit.

   @param path A file, or a pipe unless `regular_only`.
   @param text Receives its bytes followed by NUL; free() it. NULL on error.
   @param size Receives the number of bytes.
   @return SR_OK, SR_NOT_FOUND (or a folder), SR_NO_PERMISSION, SR_TOO_LARGE, SR_UNSUPPORTED (not a
           regular file) or SR_NO_MEMORY.
*/
SrStatus sr_input_read(const char* path, const SrInputKind* kind, char** text, size_t* size,
                       SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_INPUT_H
