// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_MEDIA_KIND_H
#define SR_AUDIO_MEDIA_KIND_H

/// A kind of media container.
typedef struct {
  const char* demuxer; ///< Name of FFmpeg's demuxer
  const char* words;   ///< Description, such as "an MPEG-4 file (m4a, mp4, 3gp)"
} SrMediaKind;

/**
   Recognise the container of a file by its first bytes, not by its name.

   @param descriptor Seekable; its offset is not changed.
   @return A static kind, or NULL for anything else.
*/
const SrMediaKind* sr_media_kind(int descriptor);

#endif // SR_AUDIO_MEDIA_KIND_H
