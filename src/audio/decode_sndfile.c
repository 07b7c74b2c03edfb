// SPDX-License-Identifier: GPL-3.0-or-later

#include "decoder.h"
#include "recorded_date.h"

#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Samples of 16 bits read at once.
#define SHORT_SAMPLES 4096u

/// A file read through libsndfile.
typedef struct {
  SrDecoder head;
  SNDFILE* file;
  int descriptor;
  off_t position;
  SrByteFix fix;
  bool is_short; ///< Of 16 bits a sample, and read as such
} Decoder;

static sf_count_t
file_length(void* const from)
{
  struct stat status;
  return fstat(((Decoder*)from)->descriptor, &status) ? 0 : status.st_size;
}

static sf_count_t
seek_bytes(const sf_count_t offset, const int whence, void* const from)
{
  Decoder* const d = from;
  const sf_count_t start = whence == SEEK_CUR   ? d->position
                           : whence == SEEK_END ? file_length(d)
                                                : 0;
  if (offset < 0 ? start + offset < 0 : offset > SF_COUNT_MAX - start) {
    return -1;
  }
  d->position = start + offset;
  return d->position;
}

static sf_count_t
read_bytes(void* const bytes, const sf_count_t count, void* const from)
{
  Decoder* const d = from;
  const ssize_t got = count > 0 ? pread(d->descriptor, bytes, (size_t)count, d->position) : 0;
  for (off_t i = 0; i < (off_t)d->fix.count; ++i) {
    const off_t at = d->fix.at + i - d->position;
    if (at >= 0 && at < got) {
      ((unsigned char*)bytes)[at] = d->fix.bytes[i];
    }
  }
  d->position += got > 0 ? got : 0;
  return got > 0 ? got : 0;
}

static sf_count_t
write_nothing(const void* const bytes, const sf_count_t count, void* const to)
{
  (void)bytes;
  (void)count;
  (void)to;
  return 0;
}

static sf_count_t
position(void* const from)
{
  return ((Decoder*)from)->position;
}

/// Read frames of 16 bits, which libsndfile converts to floats more slowly. Returns their number.
static sf_count_t
read_short(SNDFILE* const file, const size_t channels, float* const frames, const size_t count)
{
  short read[SHORT_SAMPLES];
  const size_t most = SHORT_SAMPLES / channels;
  size_t done = 0;
  bool ended = false;
  while (done < count && !ended) {
    const size_t wanted = count - done < most ? count - done : most;
    const sf_count_t got = sf_readf_short(file, read, (sf_count_t)wanted);
    const size_t samples = got > 0 ? (size_t)got * channels : 0;
    float* const to = frames + done * channels;
    for (size_t i = 0; i < samples; ++i) {
      to[i] = (float)read[i] / 32768.0f;
    }
    done += samples / channels;
    ended = got < (sf_count_t)wanted;
  }
  return (sf_count_t)done;
}

static size_t
read_frames(SrDecoder* const decoder, float* const frames, const size_t count)
{
  SNDFILE* const file = ((Decoder*)decoder)->file;
  const sf_count_t got = ((Decoder*)decoder)->is_short
                             ? read_short(file, (size_t)decoder->channels, frames, count)
                             : sf_readf_float(file, frames, (sf_count_t)count);
  if (got < (sf_count_t)count) {
    decoder->failed = sf_error(file) != SF_ERR_NO_ERROR;
  }
  return got > 0 ? (size_t)got : 0;
}

static bool
skip_frames(SrDecoder* const decoder, const size_t count)
{
  SNDFILE* const file = ((Decoder*)decoder)->file;
  const sf_count_t at = sf_seek(file, 0, SEEK_CUR);
  // Past a known end it would stay where it is, and without a known length FLAC cannot seek
  return at >= 0 && at < decoder->promised && count < (uint64_t)(decoder->promised - at) &&
         sf_seek(file, (sf_count_t)count, SEEK_CUR) == at + (sf_count_t)count;
}

static void
del(SrDecoder* const decoder)
{
  sf_close(((Decoder*)decoder)->file);
  free(decoder);
}

/// Magnitude that counts as full scale in this format.
static float
full_scale(const int format)
{
  switch (format & SF_FORMAT_SUBMASK) {
  case SF_FORMAT_PCM_S8:
  case SF_FORMAT_PCM_U8:
    return 127.0f / 128.0f;
  case SF_FORMAT_PCM_24:
  case SF_FORMAT_PCM_32:
  case SF_FORMAT_FLOAT:
  case SF_FORMAT_DOUBLE:
    return 8388607.0f / 8388608.0f;
  default:
    return 32767.0f / 32768.0f;
  }
}

/// Upper limit of full scale: float files may exceed it, and only a clipper stops exactly there.
static float
beyond(const int format)
{
  const int encoding = format & SF_FORMAT_SUBMASK;
  return encoding == SF_FORMAT_FLOAT || encoding == SF_FORMAT_DOUBLE ? 8388609.0f / 8388608.0f
                                                                     : (float)INFINITY;
}

/**
   Frames by which a whole file may have less than libsndfile counts: for ALAC it counts whole
   packets.
*/
static int64_t
tolerance(const int format)
{
  switch (format & SF_FORMAT_SUBMASK) {
  case SF_FORMAT_ALAC_16:
  case SF_FORMAT_ALAC_20:
  case SF_FORMAT_ALAC_24:
  case SF_FORMAT_ALAC_32:
    return 4096;
  default:
    return 0;
  }
}

/// When it was recorded: by a recorder's own chunk, or else by a tag.
static SrRecordedDate
date_of(SNDFILE* const file)
{
  SF_BROADCAST_INFO info;
  SrRecordedDate date = {.known = false};
  memset(&info, 0, sizeof(info));
  if (sf_command(file, SFC_GET_BROADCAST_INFO, &info, (int)sizeof(info)) == SF_TRUE) {
    char text[40];
    snprintf(text, sizeof(text), "%.*s %.*s", (int)sizeof(info.origination_date),
             info.origination_date, (int)sizeof(info.origination_time), info.origination_time);
    date = sr_recorded_date_read(text);
  }
  return date.known ? date : sr_recorded_date_read(sf_get_string(file, SF_STR_DATE));
}

SrStatus
sr_decoder_open_sndfile(const int descriptor, const SrByteFix* const fix, SrDecoder** const decoder,
                        SrError* const error)
{
  *decoder = NULL;
  Decoder* const made = calloc(1, sizeof(Decoder));
  if (!made) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to read the take.");
  }
  made->descriptor = descriptor;
  made->fix = *fix;
  SF_INFO info = {0};
  SF_VIRTUAL_IO io = {file_length, seek_bytes, read_bytes, write_nothing, position};
  made->file = sf_open_virtual(&io, SFM_READ, &info, made);
  if (!made->file) {
    free(made);
    return sr_error_set(error, SR_BAD_AUDIO, "libsndfile cannot read this file.");
  }
  if (SR_HAS_MEDIA && (info.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_MPEG) {
    sf_close(made->file);
    free(made);
    return sr_error_set(error, SR_UNSUPPORTED, "MPEG is left to FFmpeg.");
  }
  made->head = (SrDecoder){.rate_hz = info.samplerate,
                           .recorded_hz = info.samplerate,
                           .channels = info.channels,
                           .read = read_frames,
                           .skip = skip_frames,
                           .full_scale = full_scale(info.format),
                           .beyond = beyond(info.format),
                           // 0 and the largest count mean "not known", as in a FLAC file written to
                           // a pipe or by a killed recorder: everything present is then taken as
                           // the whole
                           .promised = info.frames < SF_COUNT_MAX ? info.frames : 0,
                           .tolerance = tolerance(info.format),
                           .date = date_of(made->file),
                           .del = del};
  const int kind = info.format & SF_FORMAT_TYPEMASK;
  made->is_short = (info.format & SF_FORMAT_SUBMASK) == SF_FORMAT_PCM_16 &&
                   (kind == SF_FORMAT_WAV || kind == SF_FORMAT_WAVEX || kind == SF_FORMAT_FLAC) &&
                   info.channels <= (int)SHORT_SAMPLES;
  *decoder = &made->head;
  return SR_OK;
}
