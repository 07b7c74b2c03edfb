// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file decoder.h
   What turns the bytes of a recording into samples. There are two: libsndfile, and
   FFmpeg's libraries for what it cannot read.
*/

#ifndef SR_AUDIO_DECODER_H
#define SR_AUDIO_DECODER_H

#include "container.h"

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct SrDecoderImpl SrDecoder;

/// A decoder, as the head of the struct that each kind has.
struct SrDecoderImpl {
  int rate_hz;     ///< Samples a second as they are read, over 0
  int recorded_hz; ///< As they lie in the file; less than `rate_hz` if they were too few to listen
                   ///< to
  int channels;    ///< Over 0

  /**
     Read the next frames.

     @param frames Receives interleaved samples, `channels` for each frame; what the file should
     hold there and does not is NaN.
     @param count  Frames wanted, at least 1.
     @return Frames read; less than `count` only at the end.
  */
  size_t (*read)(SrDecoder* decoder, float* frames, size_t count);

  float full_scale;  ///< Magnitude from which a sample counts as full scale
  float beyond;      ///< Magnitude from which it is more than that; INFINITY if there is none
  int64_t promised;  ///< Frames that the file says it has; 0 if it does not tell
  int64_t tolerance; ///< Frames by which it may have less and still be whole
  bool failed;       ///< Reading ended because the file is damaged

  void (*del)(SrDecoder* decoder);
};

/**
   Open with libsndfile. Where there is FFmpeg, MP3 is left to it: through libsndfile the samples
   of a damaged one depend on the chunks, and words about it go to standard error.

   @param descriptor Can be read anywhere; stays open and must outlive the decoder.
   @param fix        Bytes that are read in place of those of the file, such as a size that it does
                     not tell; copied.
   @param decoder    Receives it; NULL on error.
   @return SR_OK, SR_BAD_AUDIO (libsndfile cannot read it), SR_UNSUPPORTED (it is MP3, and there is
   FFmpeg) or SR_NO_MEMORY.
*/
SrStatus sr_decoder_open_sndfile(int descriptor, const SrByteFix* fix, SrDecoder** decoder,
                                 SrError* error);

/**
   Open with FFmpeg's libraries. Nothing but the descriptor is read, whatever the file names,
   and samples before the start that its container tells are left out. Where it leaves out
   time, or a packet is damaged, the frames are NaN. What has the 8000 samples a second of a
   telephone is read at SR_TAKE_LOWEST_RATE_HZ.

   FFmpeg's messages are turned off, and its allocations limited to 256 MiB each, for the whole
   process.

   @param descriptor Can be read anywhere; stays open and must outlive the decoder.
   @param demuxer    FFmpeg's name of the container, as sr_media_kind() tells it.
   @param decoder    Receives it; NULL on error.
   @param error      Says what is missing, without what to do about it.
   @return SR_OK, SR_BAD_AUDIO (damaged, or no sound in it), SR_UNSUPPORTED (no decoder for it, too
   many channels, or built without FFmpeg) or SR_NO_MEMORY.
*/
SrStatus sr_decoder_open_media(int descriptor, const char* demuxer, SrDecoder** decoder,
                               SrError* error);

#endif // SR_AUDIO_DECODER_H
