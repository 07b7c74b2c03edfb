// SPDX-License-Identifier: GPL-3.0-or-later

#include "decoder.h"

#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

/// A file read through libsndfile.
typedef struct {
  SrDecoder head;
  SNDFILE* file;
  int descriptor;
  off_t position;
  SrByteFix fix;
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

static size_t
read_frames(SrDecoder* const decoder, float* const frames, const size_t count)
{
  SNDFILE* const file = ((Decoder*)decoder)->file;
  const sf_count_t got = sf_readf_float(file, frames, (sf_count_t)count);
  if (got < (sf_count_t)count) {
    decoder->failed = sf_error(file) != SF_ERR_NO_ERROR;
  }
  return got > 0 ? (size_t)got : 0;
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
                           .full_scale = full_scale(info.format),
                           .beyond = beyond(info.format),
                           // 0 and the largest count mean "not known", as in a FLAC file written to
                           // a pipe or by a killed recorder: everything present is then taken as
                           // the whole
                           .promised = info.frames < SF_COUNT_MAX ? info.frames : 0,
                           .tolerance = tolerance(info.format),
                           .del = del};
  *decoder = &made->head;
  return SR_OK;
}
