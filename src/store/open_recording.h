// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file open_recording.h
   A recording opened for reading.
*/

#ifndef SR_STORE_OPEN_RECORDING_H
#define SR_STORE_OPEN_RECORDING_H

#include <steadyreed/status.h>

#include <sndfile.h>

#include <stdbool.h>
#include <sys/types.h>

typedef struct {
  SNDFILE* file;
  SF_INFO info;
  int descriptor; ///< Read by `file`; both share the file offset
  off_t size;     ///< Bytes
} SrKeptTake;

/**
   Open a recording.

   @param follow_link Whether the path may be a symbolic link.
   @param take        Receives it; close it with sr_kept_take_close(). Empty on error.
   @return SR_OK, SR_NOT_FOUND, SR_NO_PERMISSION or SR_BAD_AUDIO.
*/
SrStatus sr_kept_take_open(const char* path, bool follow_link, SrKeptTake* take, SrError* error);

/// Whether the header gives the length; that of an unfinished take does not.
bool sr_kept_take_knows_length(const SrKeptTake* take);

/// Whether the decoder reached the end of the file; it stops early at damage.
bool sr_kept_take_is_read(const SrKeptTake* take);

void sr_kept_take_close(SrKeptTake* take);

#endif // SR_STORE_OPEN_RECORDING_H
