// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file decode_media.c
   FFmpeg is given the demuxer that media_kind.c found and a list of codecs, so it neither guesses
   nor opens anything else. What was coded before the start is left out as the container says; AAC
   without one (.aac, .ts) begins 23 ms late, and WMA 46 ms early. Time that the stamps leave out,
   or that was damaged, is NaN, so what follows keeps its time. Telephone rates are resampled to
   16000 Hz.
*/

#include "decoder.h"
#include "ffmpeg.h"
#include "recorded_date.h"

#include <steadyreed/audio.h>

#include <libavutil/channel_layout.h>
#include <libavutil/dict.h>

#include <assert.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Size of the I/O buffer, bytes.
#define IO_SIZE 32768
/// Most channels: the limit of libswresample.
#define MOST_CHANNELS 64
/// Packets in a row without sound before giving up.
#define MOST_EMPTY_PACKETS 1000
/// Largest single allocation by FFmpeg, bytes, so that a few bytes of a hostile file cannot claim
/// all memory.
#define MOST_MEMORY (256u << 20u)
/// A larger jump of the time stamps is a gap, s: some containers count in ms, and phones write
/// inaccurate times.
#define GAP_S 0.05
/// Sample rate of telephone codecs such as AMR.
#define TELEPHONE_HZ 8000
/// A whole file may be shorter than its header says by this, s: the remainder of the last packet.
#define TOLERANCE_S 0.1

/// Codecs that may be opened: no pictures, and nothing that is not used for recording.
static const char codecs[] =
    "aac,aac_latm,alac,ac3,eac3,amrnb,amrwb,flac,mp1,mp1float,mp2,mp2float,mp3,mp3float,opus,"
    "libopus,vorbis,speex,libspeex,gsm,gsm_ms,wmav1,wmav2,wmapro,wmalossless,wmavoice,"
    "adpcm_ima_qt,adpcm_ima_wav,adpcm_ms,g722,g726,g726le,pcm_alaw,pcm_mulaw,pcm_u8,pcm_s8,"
    "pcm_s16le,pcm_s16be,pcm_s24le,pcm_s24be,pcm_s32le,pcm_s32be,pcm_f32le,pcm_f32be,pcm_f64le,"
    "pcm_f64be";

/// Loaded when the first file is opened.
static const SrFfmpeg* ffmpeg;

/// A file read through FFmpeg's libraries.
typedef struct {
  SrDecoder head;
  int descriptor;
  int64_t position;
  AVFormatContext* format;
  AVIOContext* io;
  AVCodecContext* codec;
  AVStream* stream; ///< The selected stream
  AVPacket* packet;
  AVFrame* frame;
  bool peeked;   ///< The current frame was already decoded when the file was opened
  bool draining; ///< All packets were passed to the decoder
  bool ended;

  SwrContext* convert; ///< To floats at `head.rate_hz`
  int from_rate_hz;    ///< Input rate of the converter
  int from_channels;
  enum AVSampleFormat from_format;

  float* ready; ///< Interleaved frames waiting to be read
  size_t ready_size;
  size_t ready_from;
  size_t ready_to;
  size_t gap;      ///< NaN frames to deliver before them
  double end_s;    ///< End of the last frame by its time stamp; NAN if it had none
  size_t reported; ///< Frames of sound so far
  size_t filled;   ///< NaN frames so far
} Decoder;

static int
read_bytes(void* const opaque, uint8_t* const bytes, const int size)
{
  Decoder* const d = opaque;
  const ssize_t count = pread(d->descriptor, bytes, (size_t)size, (off_t)d->position);
  if (count < 0) {
    return AVERROR(errno);
  }
  d->position += count;
  return count ? (int)count : AVERROR_EOF;
}

static int64_t
seek_bytes(void* const opaque, const int64_t offset, const int whence)
{
  Decoder* const d = opaque;
  struct stat status;
  if (fstat(d->descriptor, &status)) {
    return AVERROR(errno);
  }
  const int from = whence & ~AVSEEK_FORCE;
  int64_t start = 0;
  switch (from) {
  case AVSEEK_SIZE:
    return status.st_size;
  case SEEK_SET:
    break;
  case SEEK_CUR:
    start = d->position;
    break;
  case SEEK_END:
    start = status.st_size;
    break;
  default:
    return AVERROR(EINVAL);
  }
  if (offset < 0 ? start + offset < 0 : offset > INT64_MAX - start) {
    return AVERROR(EINVAL);
  }
  d->position = start + offset;
  return d->position;
}

/// Refuse to open any other resource a file names, local or remote.
static int
open_nothing(AVFormatContext* const format, AVIOContext** const io, const char* const url,
             const int flags, AVDictionary** const options)
{
  (void)format;
  (void)url;
  (void)flags;
  (void)options;
  *io = NULL;
  return AVERROR(EPERM);
}

static void
del(SrDecoder* const decoder)
{
  Decoder* const d = (Decoder*)decoder;
  ffmpeg->swr_free(&d->convert);
  ffmpeg->av_frame_free(&d->frame);
  ffmpeg->av_packet_free(&d->packet);
  ffmpeg->avcodec_free_context(&d->codec);
  ffmpeg->avformat_close_input(&d->format);
  if (d->io) {
    ffmpeg->av_freep(&d->io->buffer);
    ffmpeg->avio_context_free(&d->io);
  }
  free(d->ready);
  free(d);
}

/// Pass a packet of the stream to the decoder; false if there is none left.
static bool
feed(Decoder* const d)
{
  const int outcome = ffmpeg->av_read_frame(d->format, d->packet);
  if (outcome < 0) {
    d->head.failed = d->head.failed || outcome != AVERROR_EOF;
    return false;
  }
  // Damaged packets are dropped; the next time stamp tells how much is missing
  if (d->packet->stream_index == d->stream->index) {
    ffmpeg->avcodec_send_packet(d->codec, d->packet);
  }
  ffmpeg->av_packet_unref(d->packet);
  return true;
}

/// Decode the next frame with sound; false at the end.
static bool
next_frame(Decoder* const d)
{
  assert(d->packet && d->frame && d->codec && d->stream);
  if (d->peeked) {
    d->peeked = false;
    return true;
  }
  for (int empty = 0; empty < MOST_EMPTY_PACKETS; ++empty) {
    const int outcome = ffmpeg->avcodec_receive_frame(d->codec, d->frame);
    if (outcome == 0 && d->frame->nb_samples > 0) {
      return true;
    }
    if (outcome == AVERROR_EOF || (outcome != 0 && d->draining)) {
      return false;
    }
    if (outcome != 0 && !feed(d)) {
      d->draining = true;
      ffmpeg->avcodec_send_packet(d->codec, NULL);
    }
  }
  d->head.failed = true;
  return false;
}

/// Set up the conversion for frames like the current one.
static bool
set_up_conversion(Decoder* const d)
{
  const AVFrame* const frame = d->frame;
  const int channels = frame->ch_layout.nb_channels;
  if (d->convert && frame->sample_rate == d->from_rate_hz && channels == d->from_channels &&
      frame->format == d->from_format) {
    return true;
  }
  // The assignment of channels does not matter, since all are mixed equally
  AVChannelLayout layout = {.order = AV_CHANNEL_ORDER_UNSPEC, .nb_channels = channels};
  ffmpeg->swr_free(&d->convert);
  d->from_rate_hz = frame->sample_rate;
  d->from_channels = channels;
  d->from_format = (enum AVSampleFormat)frame->format;
  return channels > 0 && channels <= MOST_CHANNELS && frame->sample_rate > 0 &&
         ffmpeg->swr_alloc_set_opts2(&d->convert, &layout, AV_SAMPLE_FMT_FLT, d->head.rate_hz,
                                     &layout, d->from_format, frame->sample_rate, 0, NULL) >= 0 &&
         ffmpeg->swr_init(d->convert) >= 0;
}

/// Make room for frames of the file's number of channels or of the current number.
static bool
make_room(Decoder* const d, const size_t frames)
{
  const size_t channels =
      (size_t)(d->from_channels > d->head.channels ? d->from_channels : d->head.channels);
  const size_t size = frames * channels;
  if (size > d->ready_size) {
    float* const more = realloc(d->ready, size * sizeof(float));
    if (!more) {
      return false;
    }
    d->ready = more;
    d->ready_size = size;
  }
  return true;
}

/// If the number of channels changed, their mean goes to each of the file's channels.
static void
spread_channels(Decoder* const d, const size_t frames)
{
  const size_t from = (size_t)d->from_channels;
  const size_t to = (size_t)d->head.channels;
  if (from == to) {
    return;
  }
  for (size_t n = 0; n < frames; ++n) {
    // Backwards if it grows, so that nothing is overwritten before it is read
    const size_t frame = to > from ? frames - 1 - n : n;
    float sum = 0.0f;
    for (size_t i = 0; i < from; ++i) {
      sum += d->ready[frame * from + i];
    }
    for (size_t i = 0; i < to; ++i) {
      d->ready[frame * to + i] = sum / (float)from;
    }
  }
}

/// Length of the gap before this frame, by its time stamp.
static void
find_gap(Decoder* const d)
{
  const AVFrame* const frame = d->frame;
  const double length_s = (double)frame->nb_samples / (double)frame->sample_rate;
  const int64_t stamp = frame->best_effort_timestamp;
  const double start_s =
      stamp == AV_NOPTS_VALUE ? d->end_s : (double)stamp * av_q2d(d->stream->time_base);
  const double gap_s = start_s - d->end_s;
  d->gap = 0;
  if (gap_s > GAP_S) {
    // If more were missing than is there, the time stamps are meaningless
    const double frames = gap_s * (double)d->head.rate_hz;
    if (frames + (double)d->filled <= (double)d->reported) {
      d->gap = (size_t)frames;
      d->filled += d->gap;
    }
  }
  d->end_s = start_s + length_s;
}

/// Decode until there are frames to read; false at the end.
static bool
decode(Decoder* const d)
{
  d->ready_from = 0;
  d->ready_to = 0;
  while (!d->ended && d->ready_to == 0) {
    int got = 0;
    if (next_frame(d)) {
      const bool usable = set_up_conversion(d);
      const int room = usable ? ffmpeg->swr_get_out_samples(d->convert, d->frame->nb_samples) : -1;
      if (room < 0 || !make_room(d, (size_t)room)) {
        d->head.failed = true;
        d->ended = true;
        break;
      }
      find_gap(d);
      uint8_t* out = (uint8_t*)d->ready;
      const uint8_t* planes[MOST_CHANNELS] = {NULL};
      const bool planar = ffmpeg->av_sample_fmt_is_planar(d->from_format) != 0;
      for (int i = 0; i < (planar ? d->from_channels : 1); ++i) {
        planes[i] = d->frame->extended_data[i];
      }
      got = ffmpeg->swr_convert(d->convert, &out, room, planes, d->frame->nb_samples);
      ffmpeg->av_frame_unref(d->frame);
    } else {
      // Flush the resampler
      d->ended = true;
      const int room = d->convert ? ffmpeg->swr_get_out_samples(d->convert, 0) : 0;
      if (room > 0 && make_room(d, (size_t)room)) {
        uint8_t* out = (uint8_t*)d->ready;
        d->gap = 0;
        got = ffmpeg->swr_convert(d->convert, &out, room, NULL, 0);
      }
    }
    if (got > 0) {
      spread_channels(d, (size_t)got);
      d->ready_to = (size_t)got;
      d->reported += (size_t)got;
    }
  }
  return d->ready_to > 0;
}

static size_t
read_frames(SrDecoder* const decoder, float* const frames, const size_t count)
{
  Decoder* const d = (Decoder*)decoder;
  const size_t channels = (size_t)decoder->channels;
  size_t done = 0;
  while (done < count && (d->ready_from < d->ready_to || decode(d))) {
    float* const to = frames + done * channels;
    const size_t wanted = count - done;
    if (d->gap) {
      const size_t step = d->gap < wanted ? d->gap : wanted;
      for (size_t i = 0; i < step * channels; ++i) {
        to[i] = NAN;
      }
      d->gap -= step;
      done += step;
      continue;
    }
    const size_t left = d->ready_to - d->ready_from;
    const size_t step = left < wanted ? left : wanted;
    memcpy(to, d->ready + d->ready_from * channels, step * channels * sizeof(float));
    d->ready_from += step;
    done += step;
  }
  return done;
}

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to read the take.");
}

/// Open the container and read its streams.
static SrStatus
open_container(Decoder* const d, const char* const demuxer, SrError* const error)
{
  // The type became const in a later version
  const AVInputFormat* const kind = ffmpeg->av_find_input_format(demuxer);
  if (!kind) {
    return sr_error_set(error, SR_UNSUPPORTED, "FFmpeg on this computer cannot open it");
  }
  uint8_t* const buffer = ffmpeg->av_malloc(IO_SIZE);
  d->io = buffer ? ffmpeg->avio_alloc_context(buffer, IO_SIZE, 0, d, read_bytes, NULL, seek_bytes)
                 : NULL;
  if (!d->io) {
    ffmpeg->av_free(buffer);
    return no_memory(error);
  }
  d->format = ffmpeg->avformat_alloc_context();
  d->packet = ffmpeg->av_packet_alloc();
  d->frame = ffmpeg->av_frame_alloc();
  if (!d->format || !d->packet || !d->frame) {
    return no_memory(error);
  }
  d->format->pb = d->io;
  d->format->flags |= AVFMT_FLAG_CUSTOM_IO;
  d->format->io_open = open_nothing;
  AVDictionary* options = NULL;
  ffmpeg->av_dict_set(&options, "codec_whitelist", codecs, 0);
  ffmpeg->av_dict_set(&options, "protocol_whitelist", "", 0);
  const int outcome = ffmpeg->avformat_open_input(&d->format, NULL, kind, &options);
  ffmpeg->av_dict_free(&options);
  if (outcome < 0 || ffmpeg->avformat_find_stream_info(d->format, NULL) < 0 ||
      !d->format->nb_streams) {
    return sr_error_set(error, SR_BAD_AUDIO, "it is damaged or breaks off before its first sample");
  }
  return SR_OK;
}

/// Choose the sound stream that FFmpeg considers the main one, and open its decoder.
static SrStatus
open_stream(Decoder* const d, SrError* const error)
{
  assert(d->format);
  const int index = ffmpeg->av_find_best_stream(d->format, AVMEDIA_TYPE_AUDIO, -1, -1, NULL, 0);
  if (index < 0) {
    return sr_error_set(error, SR_BAD_AUDIO, "there is no sound in it");
  }
  d->stream = d->format->streams[index];
  for (unsigned i = 0; i < d->format->nb_streams; ++i) {
    d->format->streams[i]->discard = (int)i == index ? AVDISCARD_DEFAULT : AVDISCARD_ALL;
  }
  const AVCodecParameters* const parameters = d->stream->codecpar;
  const AVCodec* const codec = ffmpeg->avcodec_find_decoder(parameters->codec_id);
  const char* const coding = ffmpeg->avcodec_get_name(parameters->codec_id);
  d->codec = codec ? ffmpeg->avcodec_alloc_context3(codec) : NULL;
  if (!codec) {
    return sr_error_set(error, SR_UNSUPPORTED,
                        "FFmpeg on this computer has no decoder for its sound (%s)", coding);
  }
  if (!d->codec || ffmpeg->avcodec_parameters_to_context(d->codec, parameters) < 0) {
    return no_memory(error);
  }
  d->codec->pkt_timebase = d->stream->time_base;
  d->codec->thread_count = 1;
  AVDictionary* options = NULL;
  ffmpeg->av_dict_set(&options, "codec_whitelist", codecs, 0);
  const int outcome = ffmpeg->avcodec_open2(d->codec, codec, &options);
  ffmpeg->av_dict_free(&options);
  if (outcome < 0) {
    return sr_error_set(error, SR_UNSUPPORTED, "its sound (%s) cannot be decoded", coding);
  }
  return SR_OK;
}

/// When it was recorded: the container's time of creation, or a date tag.
static SrRecordedDate
date_of(const Decoder* const d)
{
  static const char* const keys[] = {"creation_time", "date"};
  SrRecordedDate date = {.known = false};
  for (size_t i = 0; i < sizeof(keys) / sizeof(keys[0]) && !date.known; ++i) {
    const AVDictionaryEntry* const whole =
        ffmpeg->av_dict_get(d->format->metadata, keys[i], NULL, 0);
    const AVDictionaryEntry* const stream =
        ffmpeg->av_dict_get(d->stream->metadata, keys[i], NULL, 0);
    date = sr_recorded_date_read(whole ? whole->value : NULL);
    date = date.known ? date : sr_recorded_date_read(stream ? stream->value : NULL);
  }
  return date;
}

/// Frames promised by the header; 0 if unknown or only derived from the file size.
static int64_t
promised_frames(const Decoder* const d)
{
  double seconds = 0.0;
  if (d->stream->duration != AV_NOPTS_VALUE) {
    seconds = (double)d->stream->duration * av_q2d(d->stream->time_base);
  } else if (d->format->duration != AV_NOPTS_VALUE) {
    seconds = (double)d->format->duration / AV_TIME_BASE;
  }
  const double frames = seconds * (double)d->head.rate_hz;
  const bool reported = d->format->duration_estimation_method != AVFMT_DURATION_FROM_BITRATE;
  return reported && frames > 0.0 && frames < 1e15 ? (int64_t)frames : 0;
}

SrStatus
sr_decoder_open_media(const int descriptor, const char* const demuxer, SrDecoder** const decoder,
                      SrError* const error)
{
  *decoder = NULL;
  ffmpeg = sr_ffmpeg();
  if (!ffmpeg) {
    return sr_error_set(error, SR_UNSUPPORTED,
                        "FFmpeg's libraries, which are needed to read it, cannot be loaded");
  }
  ffmpeg->av_log_set_level(AV_LOG_QUIET);
  ffmpeg->av_max_alloc(MOST_MEMORY);
  Decoder* const d = calloc(1, sizeof(Decoder));
  if (!d) {
    return no_memory(error);
  }
  d->descriptor = descriptor;
  d->end_s = (double)NAN;
  SrStatus outcome = open_container(d, demuxer, error);
  if (outcome == SR_OK) {
    outcome = open_stream(d, error);
  }
  // The first frame describes the sound better than the container does
  if (outcome == SR_OK && !next_frame(d)) {
    outcome = sr_error_set(error, SR_BAD_AUDIO, "no sound could be decoded");
  }
  if (outcome == SR_OK) {
    const int rate_hz = d->frame->sample_rate;
    const int lowest_hz = (int)SR_TAKE_LOWEST_RATE_HZ;
    d->head.recorded_hz = rate_hz;
    d->head.rate_hz = rate_hz >= TELEPHONE_HZ && rate_hz < lowest_hz ? lowest_hz : rate_hz;
    d->head.channels = d->frame->ch_layout.nb_channels;
    if (d->head.channels > MOST_CHANNELS) {
      outcome =
          sr_error_set(error, SR_UNSUPPORTED, "it has %d channels, and at most %d can be read",
                       d->head.channels, MOST_CHANNELS);
    }
  }
  if (outcome != SR_OK) {
    del(&d->head);
    return outcome;
  }
  d->peeked = true;
  d->head.read = read_frames;
  d->head.del = del;
  d->head.full_scale = 32767.0f / 32768.0f;
  d->head.beyond = (float)INFINITY;
  d->head.promised = promised_frames(d);
  d->head.date = date_of(d);
  d->head.tolerance = (int64_t)(TOLERANCE_S * (double)d->head.rate_hz);
  *decoder = &d->head;
  return SR_OK;
}
