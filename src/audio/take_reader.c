// SPDX-License-Identifier: GPL-3.0-or-later

// Nothing here runs in a real-time thread.
//
// It counts what is wrong with a recording; decoders (decoder.h) turn its bytes into samples.
// libsndfile comes first. MP3 goes to FFmpeg, because libsndfile gives other samples for other
// chunk sizes once an MP3 is damaged. What comes through a pipe is copied first (spool.h).

#include <steadyreed/audio.h>

#include "container.h"
#include "decoder.h"
#include "media_kind.h"
#include "spool.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Size of the mixing buffer for files with more than one channel, samples.
#define MIX_SAMPLES 65536u
/// Bits of the float infinity: magnitudes from here up are not finite.
#define INFINITE_BITS UINT32_C(0x7F800000)
/// Block size for measuring peak and offset, frames.
#define LOOK_FRAMES 4096u

struct SrTakeReaderImpl {
  int descriptor;
  SrDecoder* decoder;
  int rate_hz;
  int recorded_hz;
  int channels;
  SrContainerEnd end;
  char* path;

  float* mix; ///< Interleaved, MIX_SAMPLES; NULL for mono files
  size_t mix_frames;

  uint32_t full_scale_bits; ///< Least magnitude that counts as full scale, as float bits
  uint32_t beyond_bits;     ///< Magnitude from which it is no longer clipping, as float bits
  uint32_t peak_bits;       ///< Largest finite magnitude, as float bits
  size_t frames;
  size_t clipped;
  size_t clip_run; ///< Consecutive frames at full scale up to now
  size_t not_finite;
  double sum;           ///< Of the mono mix
  double mix_power;     ///< Sum of squares of the mono mix
  double channel_power; ///< Mean over the channels of their sums of squares
  bool ended;
};

static uint32_t
magnitude_bits(const float value)
{
  uint32_t bits;
  memcpy(&bits, &value, sizeof(bits));
  return bits & UINT32_C(0x7FFFFFFF);
}

static float
bits_magnitude(const uint32_t bits)
{
  float value;
  memcpy(&value, &bits, sizeof(value));
  return value;
}

/// Largest magnitude. Magnitudes of floats order like their bits, and NaN is above all.
static uint32_t
largest_bits(const float* const samples, const size_t count)
{
  int32_t largest = 0;
  for (size_t i = 0; i < count; ++i) {
    const int32_t bits = (int32_t)magnitude_bits(samples[i]);
    largest = bits > largest ? bits : largest;
  }
  return (uint32_t)largest;
}

/// Count clipped and non-finite frames one by one; returns the largest finite magnitude.
static uint32_t
look_closely(SrTakeReader* const reader, const float* const samples, const size_t frames,
             const size_t channels)
{
  uint32_t peak = 0;
  for (size_t frame = 0; frame < frames; ++frame) {
    bool full = false;
    bool finite = true;
    for (size_t channel = 0; channel < channels; ++channel) {
      const uint32_t bits = magnitude_bits(samples[frame * channels + channel]);
      if (bits >= INFINITE_BITS) {
        finite = false;
      } else {
        peak = bits > peak ? bits : peak;
        full = full || (bits >= reader->full_scale_bits && bits < reader->beyond_bits);
      }
    }
    reader->not_finite += finite ? 0 : 1;
    if (full) {
      ++reader->clip_run;
      reader->clipped += reader->clip_run == 3 ? 3 : reader->clip_run > 3 ? 1 : 0;
    } else {
      reader->clip_run = 0;
    }
  }
  return peak;
}

/// Measure peak, clipping and non-finite samples of interleaved samples.
static void
look(SrTakeReader* const reader, const float* const samples, const size_t frames,
     const size_t channels)
{
  for (size_t done = 0; done < frames; done += LOOK_FRAMES) {
    const size_t count = frames - done < LOOK_FRAMES ? frames - done : LOOK_FRAMES;
    const float* const from = samples + done * channels;
    uint32_t peak = largest_bits(from, count * channels);
    if (peak >= reader->full_scale_bits) {
      peak = look_closely(reader, from, count, channels);
    } else {
      reader->clip_run = 0;
    }
    reader->peak_bits = peak > reader->peak_bits ? peak : reader->peak_bits;
  }
}

/// Add to the sum of the mono mix, in eight vectors so that it can be vectorised.
static void
add_up(SrTakeReader* const reader, const float* const samples, const size_t count)
{
  for (size_t done = 0; done < count; done += LOOK_FRAMES) {
    const size_t size = count - done < LOOK_FRAMES ? count - done : LOOK_FRAMES;
    const float* const from = samples + done;
    float vectors[8] = {0};
    size_t i = 0;
    for (; i + 8 <= size; i += 8) {
      for (size_t lane = 0; lane < 8; ++lane) {
        vectors[lane] += from[i + lane];
      }
    }
    double sum = 0.0;
    for (; i < size; ++i) {
      sum += (double)from[i];
    }
    for (size_t lane = 0; lane < 8; ++lane) {
      sum += (double)vectors[lane];
    }
    if (isfinite(sum)) {
      reader->sum += sum;
    }
  }
}

/// Mix interleaved frames to mono by their mean.
static void
mix_down(SrTakeReader* const reader, float* const samples, const size_t frames)
{
  const size_t channels = (size_t)reader->channels;
  const float share = 1.0f / (float)channels;
  double mix_power = 0.0;
  double channel_power = 0.0;
  for (size_t frame = 0; frame < frames; ++frame) {
    const float* const from = reader->mix + frame * channels;
    float sum = 0.0f;
    float power = 0.0f;
    for (size_t channel = 0; channel < channels; ++channel) {
      sum += from[channel];
      power += from[channel] * from[channel];
    }
    samples[frame] = sum * share;
    mix_power += (double)(samples[frame] * samples[frame]);
    channel_power += (double)(power * share);
  }
  if (isfinite(mix_power) && isfinite(channel_power)) {
    reader->mix_power += mix_power;
    reader->channel_power += channel_power;
  }
}

static void
forget_reading(SrTakeReader* const reader)
{
  reader->peak_bits = 0;
  reader->frames = 0;
  reader->clipped = 0;
  reader->clip_run = 0;
  reader->not_finite = 0;
  reader->sum = 0.0;
  reader->mix_power = 0.0;
  reader->channel_power = 0.0;
  reader->ended = false;
}

/// Open `path`, or standard input, as a seekable descriptor.
static SrStatus
open_anywhere(const char* const path, int* const descriptor, SrError* const error)
{
  const bool standard_input = !strcmp(path, "-");
  *descriptor = -1;
  const int first = standard_input ? dup(STDIN_FILENO) : open(path, O_RDONLY | O_CLOEXEC);
  if (first < 0) {
    const int reason = errno;
    if (standard_input) {
      return sr_error_set(error, SR_NOT_FOUND, "Standard input is closed, so there is no take.");
    }
    if (reason == ENOENT || reason == ENOTDIR) {
      return sr_error_set(error, SR_NOT_FOUND,
                          "There is no such recording. Check the spelling and the folder.");
    }
    if (reason == EACCES || reason == EPERM) {
      return sr_error_set(error, SR_NO_PERMISSION,
                          "You are not allowed to read this recording. Check its permissions.");
    }
    return sr_error_set(error, SR_BAD_AUDIO, "The recording could not be opened: %s.",
                        strerror(reason));
  }

  struct stat status;
  if (fstat(first, &status)) {
    const int reason = errno;
    close(first);
    return sr_error_set(error, SR_BAD_AUDIO, "The recording could not be read: %s.",
                        strerror(reason));
  }
  if (S_ISDIR(status.st_mode)) {
    close(first);
    return sr_error_set(error, SR_BAD_AUDIO,
                        "This is a folder, not a recording. Name the files in it, such as "
                        "FOLDER/*.wav.");
  }
  if (S_ISCHR(status.st_mode)) {
    close(first);
    return sr_error_set(error, SR_BAD_AUDIO,
                        "This is a device, not a recording. `steadyreed practise` listens to a "
                        "microphone.");
  }
  if (S_ISREG(status.st_mode) && lseek(first, 0, SEEK_CUR) == 0) {
    *descriptor = first;
  } else {
    const SrStatus outcome = sr_spool_pipe(first, SR_SPOOL_MOST, descriptor, error);
    close(first);
    if (outcome != SR_OK) {
      return outcome;
    }
    if (fstat(*descriptor, &status)) {
      status.st_size = 0;
    }
  }
  if (status.st_size == 0) {
    close(*descriptor);
    *descriptor = -1;
    return sr_error_set(error, SR_BAD_AUDIO,
                        "The file is empty (0 bytes). The recorder wrote nothing; record the take "
                        "again.");
  }
  return SR_OK;
}

/// Write a path in shell quotes with another extension; false if there is no room.
static bool
quote_path(const char* const path, const char* const end, char* const quoted, const size_t size)
{
  const char* const slash = strrchr(path, '/');
  const char* const dot = strrchr(slash ? slash : path, '.');
  const size_t length = *end && dot ? (size_t)(dot - path) : strlen(path);
  size_t at = 0;
  quoted[at++] = '\'';
  for (size_t i = 0; i < length; ++i) {
    const char* const step = path[i] == '\'' ? "'\\''" : NULL;
    if (at + 8 + strlen(end) > size) {
      return false;
    }
    if (step) {
      at += (size_t)snprintf(quoted + at, size - at, "%s", step);
    } else {
      quoted[at++] = path[i];
    }
  }
  snprintf(quoted + at, size - at, "%s'", end);
  return true;
}

/// Refuse a recording that no library here can read, with a command that converts it.
static SrStatus
refuse(const char* const path, const SrMediaKind* const kind, const SrError* const reason,
       SrError* const error)
{
  if (reason->status == SR_BAD_AUDIO) {
    return sr_error_set(error, SR_BAD_AUDIO, "This is %s, but %s. Copy it from the recorder again.",
                        kind->words, reason->message);
  }
  char from[SR_ERROR_MESSAGE_SIZE / 4];
  char to[SR_ERROR_MESSAGE_SIZE / 4];
  if (!strcmp(path, "-") || !quote_path(path, "", from, sizeof(from)) ||
      !quote_path(path, ".wav", to, sizeof(to)) || !strcmp(from, to)) {
    snprintf(from, sizeof(from), "TAKE");
    snprintf(to, sizeof(to), "TAKE.wav");
  }
  return sr_error_set(error, reason->status, "This is %s, but %s. Convert it: ffmpeg -i %s %s",
                      kind->words, reason->message, from, to);
}

/// Whether the file has the signature of a common format that libsndfile reads.
static bool
looks_like_audio(const int descriptor)
{
  char head[4];
  return pread(descriptor, head, sizeof(head), 0) == (ssize_t)sizeof(head) &&
         (!memcmp(head, "RIFF", 4) || !memcmp(head, "RF64", 4) || !memcmp(head, "fLaC", 4) ||
          !memcmp(head, "OggS", 4) || !memcmp(head, "FORM", 4));
}

/// Open with libsndfile, or with FFmpeg for MP3 and what libsndfile cannot read.
static SrStatus
open_sound(SrTakeReader* const reader, SrError* const error)
{
  static const SrMediaKind mpeg = {"mp3", "an MP3 file"};
  SrError reason = {0};
  const SrMediaKind* kind = sr_media_kind(reader->descriptor);
  reader->end = sr_container_end(reader->descriptor);
  SrStatus outcome = SR_UNSUPPORTED;
  if (!SR_HAS_MEDIA || !kind || strcmp(kind->demuxer, mpeg.demuxer) != 0) {
    outcome =
        sr_decoder_open_sndfile(reader->descriptor, &reader->end.fix, &reader->decoder, &reason);
    kind = outcome == SR_UNSUPPORTED ? &mpeg : kind;
  }
  if (outcome == SR_OK || outcome == SR_NO_MEMORY) {
    return outcome;
  }
  if (!kind) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "This is not a recording that Steadyreed can read, such as WAV, FLAC, MP3, "
                        "m4a or webm. Save the take as one of these.");
  }
  outcome = sr_decoder_open_media(reader->descriptor, kind->demuxer, &reader->decoder, &reason);
  reader->end.chained = false; // FFmpeg continues with the next one
  if (outcome == SR_OK) {
    return SR_OK;
  }
  if ((outcome == SR_BAD_AUDIO || !SR_HAS_MEDIA) && looks_like_audio(reader->descriptor)) {
    return sr_error_set(error, SR_BAD_AUDIO,
                        "The recording is damaged or breaks off before its first sample. Save or "
                        "copy it again.");
  }
  return refuse(reader->path, kind, &reason, error);
}

SrStatus
sr_take_reader_new(const char* const path, SrTakeReader** const reader, SrError* const error)
{
  *reader = NULL;
  int descriptor = -1;
  SrStatus outcome = open_anywhere(path, &descriptor, error);
  if (outcome != SR_OK) {
    sr_error_place(error, path, 0, 0);
    return outcome;
  }

  SrTakeReader* const made = calloc(1, sizeof(SrTakeReader));
  if (!made) {
    close(descriptor);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to read the take.");
  }
  made->descriptor = descriptor;
  made->path = strdup(path);
  outcome = made->path
                ? open_sound(made, error)
                : sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to read the take.");
  assert(outcome != SR_OK || made->decoder);
  if (outcome == SR_OK) {
    made->rate_hz = made->decoder->rate_hz;
    made->recorded_hz = made->decoder->recorded_hz;
    made->channels = made->decoder->channels;
    const double rate_hz = (double)made->rate_hz;
    if (rate_hz < SR_TAKE_LOWEST_RATE_HZ || rate_hz > SR_TAKE_HIGHEST_RATE_HZ) {
      outcome = sr_error_set(error, SR_UNSUPPORTED,
                             "The recording has %d samples a second; Steadyreed reads 16000 to "
                             "192000. Record at 44100 or 48000.",
                             made->rate_hz);
    }
  }
  if (outcome == SR_OK) {
    made->full_scale_bits = magnitude_bits(made->decoder->full_scale);
    made->beyond_bits = magnitude_bits(made->decoder->beyond);
    if (made->channels > 1) {
      const size_t channels = (size_t)made->channels;
      made->mix_frames = channels < MIX_SAMPLES ? MIX_SAMPLES / channels : 1;
      made->mix = malloc(made->mix_frames * channels * sizeof(float));
      if (!made->mix) {
        outcome = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to read the take.");
      }
    }
  }
  if (outcome != SR_OK) {
    sr_error_place(error, path, 0, 0);
    sr_take_reader_del(made);
    return outcome;
  }
  *reader = made;
  return SR_OK;
}

double
sr_take_reader_rate_hz(const SrTakeReader* const reader)
{
  return (double)reader->rate_hz;
}

SrRecordedDate
sr_take_reader_date(const SrTakeReader* const reader)
{
  return reader->decoder ? reader->decoder->date : (SrRecordedDate){.known = false};
}

size_t
sr_take_reader_read(SrTakeReader* const reader, float* const samples, const size_t room)
{
  size_t count = 0;
  while (count < room && !reader->ended) {
    size_t wanted = room - count;
    size_t got = 0;
    if (reader->mix) {
      wanted = wanted < reader->mix_frames ? wanted : reader->mix_frames;
      got = reader->decoder->read(reader->decoder, reader->mix, wanted);
      look(reader, reader->mix, got, (size_t)reader->channels);
      mix_down(reader, samples + count, got);
    } else {
      got = reader->decoder->read(reader->decoder, samples + count, wanted);
      look(reader, samples + count, got, 1);
    }
    add_up(reader, samples + count, got);
    count += got;
    reader->ended = got < wanted;
  }
  reader->frames += count;
  return count;
}

size_t
sr_take_reader_skip(SrTakeReader* const reader, const size_t count)
{
  float passed[LOOK_FRAMES];
  SrDecoder* const decoder = reader->decoder;
  if (count > 0 && !reader->ended && decoder->skip && decoder->skip(decoder, count)) {
    reader->frames += count;
    return count;
  }
  size_t done = 0;
  while (done < count && !reader->ended) {
    const size_t left = count - done;
    done += sr_take_reader_read(reader, passed, left < LOOK_FRAMES ? left : LOOK_FRAMES);
  }
  return done;
}

SrTakeReading
sr_take_reader_reading(const SrTakeReader* const reader)
{
  const double rate_hz = (double)reader->rate_hz;
  SrTakeReading reading = {0};
  reading.rate_hz = rate_hz;
  reading.recorded_hz = (double)reader->recorded_hz;
  reading.channels = reader->channels;
  reading.seconds = (double)reader->frames / rate_hz;
  reading.peak_dbfs = reader->peak_bits ? 20.0 * log10((double)bits_magnitude(reader->peak_bits))
                                        : -(double)INFINITY;
  reading.clipped_samples = reader->clipped;
  reading.not_finite = reader->not_finite;
  reading.offset = reader->frames ? reader->sum / (double)reader->frames : 0.0;
  reading.mix_loss_db = 0.0;
  if (reader->channel_power > 0.0) {
    const double share = reader->mix_power / reader->channel_power;
    reading.mix_loss_db = share >= 1.0 ? 0.0 : share > 1e-20 ? -10.0 * log10(share) : 200.0;
  }
  reading.ended = reader->ended;
  reading.promised_seconds = (double)NAN;
  if (reader->ended && reader->decoder) {
    const SrDecoder* const decoder = reader->decoder;
    const int64_t frames = (int64_t)reader->frames;
    const bool short_of = frames < decoder->promised - decoder->tolerance;
    reading.truncated = decoder->failed || short_of || reader->end.breaks_off;
    if (short_of) {
      reading.promised_seconds = (double)decoder->promised / rate_hz;
    } else if (!isnan(reader->end.promised_share)) {
      reading.promised_seconds = reading.seconds * reader->end.promised_share;
    }
    reading.unfinished = reader->end.unfinished;
    reading.chained = reader->end.chained;
  }
  return reading;
}

SrStatus
sr_take_reader_rewind(SrTakeReader* const reader, SrError* const error)
{
  // Reopening is cheap and leaves no state of the first pass in any decoder, so both passes get the
  // same samples to the last bit
  reader->decoder->del(reader->decoder);
  reader->decoder = NULL;
  SrStatus outcome = open_sound(reader, error);
  assert(outcome != SR_OK || reader->decoder);
  if (outcome == SR_OK && (reader->decoder->channels != reader->channels ||
                           reader->decoder->rate_hz != reader->rate_hz)) {
    outcome = sr_error_set(
        error, SR_BAD_AUDIO,
        "The recording changed while it was being read. Wait until the recorder has finished.");
  }
  if (outcome != SR_OK) {
    sr_error_place(error, reader->path, 0, 0);
    forget_reading(reader);
    reader->ended = true;
    return outcome;
  }
  forget_reading(reader);
  return SR_OK;
}

void
sr_take_reader_del(SrTakeReader* const reader)
{
  if (!reader) {
    return;
  }
  if (reader->decoder) {
    reader->decoder->del(reader->decoder);
  }
  close(reader->descriptor);
  free(reader->mix);
  free(reader->path);
  free(reader);
}
