// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_MEDIA_KIND_H
#define SR_AUDIO_MEDIA_KIND_H

/// A kind of container that sound may lie in.
typedef struct {
  const char* demuxer; ///< FFmpeg's name of what reads it
  const char* words;   ///< "an MPEG-4 file (m4a, mp4, 3gp)"
} SrMediaKind;

/**
   What kind of container a file is, by its first bytes and not by its name.

   @param descriptor Can be read anywhere; its position stays.
   @return A kind that is never freed, or NULL for anything else.
*/
const SrMediaKind* sr_media_kind(int descriptor);

#endif // SR_AUDIO_MEDIA_KIND_H
