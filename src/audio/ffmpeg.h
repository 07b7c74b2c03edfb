// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file ffmpeg.h
   FFmpeg's libraries, with a hundred others that these need, take longer to load than a short take
   takes to judge. So they are loaded when the first take is opened that needs them.
*/

#ifndef SR_AUDIO_FFMPEG_H
#define SR_AUDIO_FFMPEG_H

#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/dict.h>
#include <libavutil/frame.h>
#include <libavutil/log.h>
#include <libavutil/mem.h>
#include <libavutil/samplefmt.h>
#include <libswresample/swresample.h>

// The functions used from each library
#define SR_AVFORMAT_FUNCTIONS(X)                                                                   \
  X(av_find_best_stream)                                                                           \
  X(av_find_input_format)                                                                          \
  X(av_read_frame)                                                                                 \
  X(avformat_alloc_context)                                                                        \
  X(avformat_close_input)                                                                          \
  X(avformat_find_stream_info)                                                                     \
  X(avformat_open_input)                                                                           \
  X(avio_alloc_context)                                                                            \
  X(avio_context_free)
#define SR_AVCODEC_FUNCTIONS(X)                                                                    \
  X(av_packet_alloc)                                                                               \
  X(av_packet_free)                                                                                \
  X(av_packet_unref)                                                                               \
  X(avcodec_alloc_context3)                                                                        \
  X(avcodec_find_decoder)                                                                          \
  X(avcodec_free_context)                                                                          \
  X(avcodec_get_name)                                                                              \
  X(avcodec_open2)                                                                                 \
  X(avcodec_parameters_to_context)                                                                 \
  X(avcodec_receive_frame)                                                                         \
  X(avcodec_send_packet)
#define SR_AVUTIL_FUNCTIONS(X)                                                                     \
  X(av_dict_free)                                                                                  \
  X(av_dict_get)                                                                                   \
  X(av_dict_set)                                                                                   \
  X(av_frame_alloc)                                                                                \
  X(av_frame_free)                                                                                 \
  X(av_frame_unref)                                                                                \
  X(av_free)                                                                                       \
  X(av_freep)                                                                                      \
  X(av_log_set_level)                                                                              \
  X(av_malloc)                                                                                     \
  X(av_max_alloc)                                                                                  \
  X(av_sample_fmt_is_planar)
#define SR_SWRESAMPLE_FUNCTIONS(X)                                                                 \
  X(swr_alloc_set_opts2)                                                                           \
  X(swr_convert)                                                                                   \
  X(swr_free)                                                                                      \
  X(swr_get_out_samples)                                                                           \
  X(swr_init)

#define SR_FFMPEG_MEMBER(name) __typeof__(name)*(name);

/// The functions, by their own names.
typedef struct {
  SR_AVFORMAT_FUNCTIONS(SR_FFMPEG_MEMBER)
  SR_AVCODEC_FUNCTIONS(SR_FFMPEG_MEMBER)
  SR_AVUTIL_FUNCTIONS(SR_FFMPEG_MEMBER)
  SR_SWRESAMPLE_FUNCTIONS(SR_FFMPEG_MEMBER)
} SrFfmpeg;

/// Load the libraries if they are not loaded; NULL if they cannot be, or one lacks a function.
const SrFfmpeg* sr_ffmpeg(void);

#endif // SR_AUDIO_FFMPEG_H
