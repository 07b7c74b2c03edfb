// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_SPOOL_H
#define SR_AUDIO_SPOOL_H

#include <steadyreed/status.h>

/**
   Copy all that a pipe delivers to an unnamed temporary file.

   @param source     Descriptor to read to its end; stays open.
   @param descriptor Receives the copy, at its start; -1 on error.
   @return SR_OK, SR_BAD_AUDIO (the pipe failed) or SR_WRITE_FAILED.
*/
SrStatus sr_spool_pipe(int source, int* descriptor, SrError* error);

#endif // SR_AUDIO_SPOOL_H
