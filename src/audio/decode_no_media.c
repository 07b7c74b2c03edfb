// SPDX-License-Identifier: GPL-3.0-or-later

// Replaces decode_media.c in a build without FFmpeg's libraries.

#include "decoder.h"

SrStatus
sr_decoder_open_media(const int descriptor, const char* const demuxer, SrDecoder** const decoder,
                      SrError* const error)
{
  (void)descriptor;
  (void)demuxer;
  *decoder = NULL;
  return sr_error_set(error, SR_UNSUPPORTED,
                      "this Steadyreed was built without FFmpeg, which is needed to read it");
}
