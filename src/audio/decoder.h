// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file decoder.h
   Decoders, which convert a recording to samples. There are two: libsndfile, and FFmpeg's libraries
   for what it cannot read.
*/

#ifndef SR_AUDIO_DECODER_H
#define SR_AUDIO_DECODER_H

#include "container.h"

#include <steadyreed/audio.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct SrDecoderImpl SrDecoder;

/// A decoder; the first member of each kind's struct.
struct SrDecoderImpl {
  int rate_hz;     ///< Sample rate delivered, over 0
  int recorded_hz; ///< Sample rate of the file; less than `rate_hz` if it was too low to listen to
  int channels;    ///< Over 0

  /**
     Read the next frames.

     @param frames Receives interleaved samples, `channels` for each frame; missing ones are NaN.
     @param count  Frames wanted, at least 1.
     @return Frames read; less than `count` only at the end.
  */
  size_t (*read)(SrDecoder* decoder, float* frames, size_t count);

  /**
     Pass over frames without decoding them; NULL if it must read them.

     @param count Frames, at least 1.
     @return Whether it did; if not, nothing has changed.
  */
  bool (*skip)(SrDecoder* decoder, size_t count);

  float full_scale;  ///< Least magnitude that counts as full scale
  float beyond;      ///< Magnitude above full scale that is not clipping; INFINITY if there is none
  int64_t promised;  ///< Frames the file should have; 0 if unknown
  int64_t tolerance; ///< Frames that may be missing from a whole file
  SrRecordedDate date; ///< When it was recorded, if the file says so
  bool failed;         ///< Reading stopped at damage in the file

  void (*del)(SrDecoder* decoder);
};

/**
   Open with libsndfile. If FFmpeg is available, MP3 is left to it: with libsndfile the samples of a
   damaged file depend on the chunk size, and messages go to standard error.

   @param descriptor Seekable; stays open and must outlive the decoder.
   @param fix        Bytes read instead of those of the file, such as a missing size; copied.
   @param decoder    Receives it; NULL on error.
   @return SR_OK, SR_BAD_AUDIO (libsndfile cannot read it), SR_UNSUPPORTED (it is MP3, and there is
           FFmpeg) or SR_NO_MEMORY.
*/
SrStatus sr_decoder_open_sndfile(int descriptor, const SrByteFix* fix, SrDecoder** decoder,
                                 SrError* error);

/**
   Open with FFmpeg's libraries. Only the descriptor is read, whatever the file names, and samples
   before the start given by the container are dropped. Gaps and damaged packets become NaN frames.
   Telephone recordings at 8000 samples a second are delivered at SR_TAKE_LOWEST_RATE_HZ. FFmpeg's
   messages are turned off, and its allocations limited to 256 MiB each, for the whole process.

   @param descriptor Seekable; stays open and must outlive the decoder.
   @param demuxer    FFmpeg's name of the container, from sr_media_kind().
   @param decoder    Receives it; NULL on error.
   @param error      Says what is missing, without what to do about it.
   @return SR_OK, SR_BAD_AUDIO (damaged, or no sound in it), SR_UNSUPPORTED (no decoder for it, too
           many channels, or built without FFmpeg) or SR_NO_MEMORY.
*/
SrStatus sr_decoder_open_media(int descriptor, const char* demuxer, SrDecoder** decoder,
                               SrError* error);

#endif // SR_AUDIO_DECODER_H
