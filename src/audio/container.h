// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_CONTAINER_H
#define SR_AUDIO_CONTAINER_H

#include <stdbool.h>

/// What the outside of a sound file tells of its end.
typedef struct {
  bool breaks_off;       ///< It promises more bytes than it has
  double promised_share; ///< Promised sound against what is there, over 1; NAN if unknown
} SrContainerEnd;

/**
   Look whether a RIFF (WAV), FORM (AIFF) or Ogg file ends where it says.

   libsndfile takes such files as if they were whole. Other formats are left to
   its own count of frames.

   @param descriptor An open file that can be read anywhere; its position stays.
*/
SrContainerEnd sr_container_end(int descriptor);

#endif // SR_AUDIO_CONTAINER_H
