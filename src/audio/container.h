// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_CONTAINER_H
#define SR_AUDIO_CONTAINER_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

/// Bytes to read instead of those in a file.
typedef struct {
  off_t at;
  size_t count; ///< 0 for none
  unsigned char bytes[8];
} SrByteFix;

/// What the container of a sound file says about its end.
typedef struct {
  bool breaks_off;       ///< The file is shorter than its header says
  double promised_share; ///< Sound promised by the header relative to what is there, over 1; NAN if
                         ///< unknown
  bool unfinished;       ///< Its sizes are zero, as they are until a recorder finishes: everything
                         ///< present is sound
  bool chained;          ///< Another recording follows in the file (Ogg)
  SrByteFix fix;         ///< The size of the sound, if the file does not give it
} SrContainerEnd;

/**
   Check whether a sound file ends where its header says: RIFF (WAV), RF64 and BW64, Wave64, FORM
   (AIFF), CAF or Ogg. libsndfile treats truncated files of these formats as whole. For other
   formats its own frame count is used. Sources: EBU Tech 3306 (RF64) and ITU-R BS.2088 (BW64), the
   descriptions of Wave64, AIFF and CAF, all from memory; RFC 3533 (Ogg).

   @param descriptor An open, seekable file; its offset is not changed.
*/
SrContainerEnd sr_container_end(int descriptor);

#endif // SR_AUDIO_CONTAINER_H
