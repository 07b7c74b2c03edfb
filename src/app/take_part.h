// SPDX-License-Identifier: GPL-3.0-or-later

// A part of a recording in memory.

#ifndef SR_APP_TAKE_PART_H
#define SR_APP_TAKE_PART_H

#include <steadyreed/status.h>

#include <stddef.h>

/// Samples of a recording. Clear it with sr_take_part_clear().
typedef struct {
  float* samples; ///< Mono
  size_t count;
  double rate_hz;
  double start_s; ///< Time of the first sample
} SrTakePart;

/**
   Read a part of a recording.

   @param from_s, to_s What is wanted, s; what the recording does not have is left out.
   @param part         Receives it; empty on error.
   @return As sr_take_reader_new(); SR_NOT_FOUND also if the recording has nothing of it;
           SR_TOO_LARGE if that is over an hour.
*/
SrStatus sr_take_part_read(const char* path, double from_s, double to_s, SrTakePart* part,
                           SrError* error);
void sr_take_part_clear(SrTakePart* part);

#endif // SR_APP_TAKE_PART_H
