// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file audio.h
   Reading and writing sound files, and playing to a loudspeaker. Everything is mono, 32-bit float,
   full scale ±1. Memory use is bounded whatever the length of a take.
*/

#ifndef STEADYREED_AUDIO_H
#define STEADYREED_AUDIO_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Lowest and highest sample rate of a readable take, Hz.
#define SR_TAKE_LOWEST_RATE_HZ 16000.0
#define SR_TAKE_HIGHEST_RATE_HZ 192000.0

/// A recording being read.
typedef struct SrTakeReaderImpl SrTakeReader;

/// What has been found in a recording while reading it.
typedef struct {
  double rate_hz;     ///< Sample rate of the samples delivered
  double recorded_hz; ///< Sample rate of the file; less than `rate_hz` if it was too low and the
                      ///< samples were upsampled
  int channels;       ///< Channels of the file, at least 1
  double seconds;     ///< Length read so far
  double peak_dbfs;   ///< Largest absolute sample of any channel; -INFINITY for silence
  size_t clipped_samples; ///< Frames with a channel at full scale in runs of three or more; samples
                          ///< beyond full scale in float files are not counted
  size_t not_finite;      ///< Frames with a NaN or infinite sample
  double offset;          ///< Mean of all samples (DC), full scale 1
  double mix_loss_db; ///< How much quieter in power the mono mix is than the channels, at least 0;
                      ///< large if channels cancel each other
  bool ended;         ///< The end was reached, so the next four fields are known
  bool truncated;     ///< The file is cut short, or damaged from there on
  double promised_seconds; ///< Length given in the header; NAN if there is none
  bool unfinished; ///< The sizes in the header are zero, as when a recorder was interrupted;
                   ///< everything present was read
  bool chained;    ///< The Ogg file contains further streams that were not read
} SrTakeReading;

/**
   Open a recording: WAV, FLAC, Ogg, MP3 or anything else libsndfile reads, with any number of
   channels. If the library was built with FFmpeg's, also what phones, cameras and browsers record:
   the sound of m4a, mp4, 3gp, webm, wma, amr and other containers, recognised by their first bytes.
   No other file and no network is ever opened for it. Encoder delay is removed as the container
   specifies. Damaged or missing packets become NaN samples, so that what follows keeps its time. A
   file that cannot be read twice (a pipe) is first copied to an unnamed temporary file in $TMPDIR
   (or /tmp), readable by its owner only.

   @param path   File to read; "-" is standard input.
   @param reader Receives it; free it with sr_take_reader_del(). NULL on error.
   @return SR_OK, SR_NOT_FOUND, SR_NO_PERMISSION, SR_BAD_AUDIO (empty, damaged or not audio),
           SR_UNSUPPORTED (rate out of range, or an unsupported container or codec; the error then
           gives a command that converts it), SR_WRITE_FAILED (no room for the copy of a pipe) or
           SR_NO_MEMORY.
*/
SrStatus sr_take_reader_new(const char* path, SrTakeReader** reader, SrError* error);

/// Sample rate, SR_TAKE_LOWEST_RATE_HZ to SR_TAKE_HIGHEST_RATE_HZ.
double sr_take_reader_rate_hz(const SrTakeReader* reader);

/**
   Read the next samples; channels are averaged to mono. Non-finite samples are passed on unchanged
   and counted.

   @param samples Receives up to `room` samples.
   @param room    At least 1; 65536 or so is fast.
   @return Samples read; 0 at the end of what can be read. sr_take_reader_reading() tells whether
           that is the end given in the header.
*/
size_t sr_take_reader_read(SrTakeReader* reader, float* samples, size_t room);

/**
   Pass over samples, without decoding them where the format allows that. Of what is passed over,
   only its length may be found in sr_take_reader_reading().

   @param count Samples, 0 or more.
   @return Samples passed over; less than `count` only at the end.
*/
size_t sr_take_reader_skip(SrTakeReader* reader, size_t count);

/// What has been found since the start or the last rewind.
SrTakeReading sr_take_reader_reading(const SrTakeReader* reader);

/// When a recording was made, by what its file says of it.
typedef struct {
  bool known;    ///< The file says it
  bool has_time; ///< It says the time of day as well as the day
  int64_t utc_s; ///< Seconds since 1970, UTC; the start of the day, local time, without a time
} SrRecordedDate;

/**
   When the recording was made, by its own metadata: the origination date of a Broadcast Wave file
   (EBU Tech 3285), the creation time of a phone's container, or a date tag that names a day. What
   has a time but no zone is local time.
*/
SrRecordedDate sr_take_reader_date(const SrTakeReader* reader);

/// Return to the first sample. SR_OK, or SR_BAD_AUDIO if the file has changed.
SrStatus sr_take_reader_rewind(SrTakeReader* reader, SrError* error);

/// Free; NULL does nothing.
void sr_take_reader_del(SrTakeReader* reader);

/**
   A source of samples: fills `samples` with up to `count` samples and returns how many, 0 at the
   end. Called from the thread that called sr_audio_write() or sr_player_play(), never from a
   real-time thread.
*/
typedef size_t (*SrAudioSource)(void* context, float* samples, size_t count);

/// Sample formats for writing.
typedef enum {
  SR_SAMPLES_16_BIT,
  SR_SAMPLES_24_BIT,
  SR_SAMPLES_FLOAT, ///< 32-bit float; WAV only
} SrSampleFormat;

/**
   Write a mono sound file, WAV or FLAC by its extension (".wav", ".flac", in any case). Samples
   beyond full scale are clipped unless the format is float. If writing fails, the incomplete file
   is removed.

   @param path    File to write; an existing one is replaced.
   @param rate_hz Whole number from 8000 to 192000.
   @param format  Sample format.
   @param source  Supplies the samples.
   @param context Passed to `source`.
   @return SR_OK, SR_BAD_ARGUMENT (rate), SR_UNSUPPORTED (extension, or float in FLAC), SR_NOT_FOUND
           (folder), SR_NO_PERMISSION, SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_audio_write(const char* path, double rate_hz, SrSampleFormat format,
                        SrAudioSource source, void* context, SrError* error);

/// An open output device.
typedef struct SrPlayerImpl SrPlayer;

/**
   Open an output device. While the audio server is queried, file descriptor 2 (standard
   error) points to /dev/null, because ALSA and JACK print their own diagnostics there. Do not write
   to it from another thread during this call.

   @param output As in SrStreamSettings; NULL or "" for the default.
   @param player Receives it; NULL on error.
   @return SR_OK, SR_NOT_FOUND (no device of that name), SR_DEVICE_TROUBLE (no device, or it
           refuses) or SR_NO_MEMORY.
*/
SrStatus sr_player_new(const char* output, SrPlayer** player, SrError* error);

/// The device's own sample rate.
double sr_player_rate_hz(const SrPlayer* player);

/**
   Play until the source ends and its last sample has been output. Blocks until then.

   @param player  From sr_player_new().
   @param source  Supplies samples at sr_player_rate_hz().
   @param context Passed to `source`.
   @return SR_OK, SR_DEVICE_TROUBLE or SR_NO_MEMORY.
*/
SrStatus sr_player_play(SrPlayer* player, SrAudioSource source, void* context, SrError* error);

/// Stop and free; NULL does nothing.
void sr_player_del(SrPlayer* player);

SR_END_DECLARATIONS

#endif // STEADYREED_AUDIO_H
