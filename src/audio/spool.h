// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_SPOOL_H
#define SR_AUDIO_SPOOL_H

#include <steadyreed/status.h>

#include <stdint.h>

/// Size limit of a take from a pipe, bytes: three hours of 48000 samples a second in two channels
/// of 16 bits.
#define SR_SPOOL_MOST (INT64_C(2) << 30)

/**
   Copy everything a pipe delivers to an unnamed temporary file.

   @param source     Descriptor, read to its end; stays open.
   @param most       Size limit, bytes; SR_SPOOL_MOST except in tests.
   @param descriptor Receives the copy, at its start; -1 on error.
   @return SR_OK, SR_BAD_AUDIO (the pipe failed), SR_TOO_LARGE (over the limit, or endless) or
           SR_WRITE_FAILED.
*/
SrStatus sr_spool_pipe(int source, int64_t most, int* descriptor, SrError* error);

#endif // SR_AUDIO_SPOOL_H
