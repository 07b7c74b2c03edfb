// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_CONTAINER_H
#define SR_AUDIO_CONTAINER_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

/// Bytes that are to be read in place of those that a file has.
typedef struct {
  off_t at;
  size_t count; ///< 0 for none
  unsigned char bytes[8];
} SrByteFix;

/// What the outside of a sound file tells of its end.
typedef struct {
  bool breaks_off;       ///< It promises more bytes than it has
  double promised_share; ///< Promised sound against what is there, over 1; NAN if unknown
  bool unfinished;       ///< Its sizes are zeros, as they are until a recorder ends: the sound is
                         ///< what there is
  bool chained;          ///< Behind its recording another begins (Ogg)
  SrByteFix fix;         ///< The size of the sound, where the file does not tell it
} SrContainerEnd;

/**
   Look whether a sound file ends where it says: RIFF (WAV), RF64 and BW64, Wave64, FORM (AIFF), CAF
   or Ogg.

   libsndfile takes such files as if they were whole. Other formats are left to
   its own count of frames.

   Sources: EBU Tech 3306 (RF64) and ITU-R BS.2088 (BW64), the descriptions of Wave64, AIFF and CAF,
   all from memory; RFC 3533 (Ogg).

   @param descriptor An open file that can be read anywhere; its position stays.
*/
SrContainerEnd sr_container_end(int descriptor);

#endif // SR_AUDIO_CONTAINER_H
