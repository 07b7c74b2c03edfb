// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file status.h
   Return value of every function that can fail, and the description of its error.
*/

#ifndef STEADYREED_STATUS_H
#define STEADYREED_STATUS_H

#include <steadyreed/declarations.h>

#include <stddef.h>

SR_BEGIN_DECLARATIONS

#if defined(__GNUC__)
#define SR_PRINTF(format_index, first_index)                                                       \
  __attribute__((format(printf, format_index, first_index)))
#else
#define SR_PRINTF(format_index, first_index)
#endif

/// The outcome of a call.
typedef enum {
  SR_OK,             ///< Done
  SR_NO_MEMORY,      ///< An allocation failed
  SR_BAD_ARGUMENT,   ///< The caller passed something outside the documented range
  SR_NOT_FOUND,      ///< No such file, tune, part or bar
  SR_NO_PERMISSION,  ///< The system refused to open or write it
  SR_BAD_SYNTAX,     ///< A text (ABC, JSON) does not follow its rules
  SR_UNSUPPORTED,    ///< Valid, but outside what Steadyreed supports
  SR_TOO_LARGE,      ///< Over a stated limit
  SR_BAD_AUDIO,      ///< Not audio, empty, damaged or not finite
  SR_NOTHING_HEARD,  ///< Audio without one usable note
  SR_NO_MATCH,       ///< The take is not of this phrase
  SR_WRITE_FAILED,   ///< Output could not be written
  SR_EXISTS,         ///< A file of this name exists, and is left as it is
  SR_DEVICE_TROUBLE, ///< The audio device or server failed
} SrStatus;

/// Size of the longest message, bytes with its NUL.
#define SR_ERROR_MESSAGE_SIZE 512
/// Size of the longest path kept, bytes with its NUL; a longer one loses its start.
#define SR_ERROR_FILE_SIZE 512

/**
   What went wrong, where, and what to do, in a player's words. `message` is one or two plain
   sentences without file name or position; sr_error_print() adds these in front. Fields that do not
   apply are empty (zero).
*/
typedef struct {
  SrStatus status;                     ///< Same as the returned status
  char message[SR_ERROR_MESSAGE_SIZE]; ///< UTF-8, one line
  char file[SR_ERROR_FILE_SIZE];       ///< File concerned, or ""
  unsigned line;                       ///< From 1; 0 if unknown
  unsigned column;                     ///< In characters from 1; 0 if unknown
} SrError;

/// One English sentence for a status, without a period at the end.
const char* sr_status_text(SrStatus status);

/**
   Fill an error and return its status, so that callers can write `return sr_error_set(error,
   SR_NOT_FOUND, "…")`.

   @param error  Error to fill; NULL to return the status only.
   @param status Not SR_OK.
   @param format As for printf(); control characters and bytes of invalid UTF-8 are replaced by '?',
                 and the result is cut to SR_ERROR_MESSAGE_SIZE at a whole character.
*/
SrStatus sr_error_set(SrError* error, SrStatus status, const char* format, ...) SR_PRINTF(3, 4);

/**
   Add the location to a filled error.

   @param error  May be NULL.
   @param file   Path or name of the text, NULL to leave it empty.
   @param line   From 1, 0 for none.
   @param column In characters from 1, 0 for none.
*/
void sr_error_place(SrError* error, const char* file, unsigned line, unsigned column);

/**
   Write `file:line:column: message` (without the empty parts) into a buffer.

   @param error  A filled error.
   @param buffer Receives the text, always NUL-terminated.
   @param size   Size of `buffer` in bytes, at least 1.
   @return `buffer`.
*/
const char* sr_error_print(const SrError* error, char* buffer, size_t size);

SR_END_DECLARATIONS

#endif // STEADYREED_STATUS_H
