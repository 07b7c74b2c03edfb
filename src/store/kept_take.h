// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file kept_take.h
   A recording opened for reading.
*/

#ifndef SR_STORE_KEPT_TAKE_H
#define SR_STORE_KEPT_TAKE_H

#include <steadyreed/status.h>

#include <sndfile.h>

#include <stdbool.h>
#include <sys/types.h>

typedef struct {
  SNDFILE* file;
  SF_INFO info;
  int descriptor; ///< Where `file` reads from; they share their place in it
  off_t size;     ///< Bytes
} SrKeptTake;

/**
   Open a recording.

   @param follow_link Whether the path may be a symbolic link.
   @param take        Receives it; close it with sr_kept_take_close(). Empty on error.
   @return SR_OK, SR_NOT_FOUND, SR_NO_PERMISSION or SR_BAD_AUDIO.
*/
SrStatus sr_kept_take_open(const char* path, bool follow_link, SrKeptTake* take, SrError* error);

/// Whether its header tells how long it is; that of a take that was not finished does not.
bool sr_kept_take_knows_length(const SrKeptTake* take);

/// Whether the decoder came to the end of the file; it gives up before where it is damaged.
bool sr_kept_take_is_read(const SrKeptTake* take);

/// Close what is open.
void sr_kept_take_close(SrKeptTake* take);

#endif // SR_STORE_KEPT_TAKE_H
