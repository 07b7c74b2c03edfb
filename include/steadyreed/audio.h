// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file audio.h
   Sound files in and out, and playing to a loudspeaker.

   Everything is mono, 32-bit float, full scale ±1. Memory is bounded whatever
   the length of a take.
*/

#ifndef STEADYREED_AUDIO_H
#define STEADYREED_AUDIO_H

#include <steadyreed/status.h>

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Lowest and highest sample rate of a take that is read, Hz.
#define SR_TAKE_LOWEST_RATE_HZ 16000.0
#define SR_TAKE_HIGHEST_RATE_HZ 192000.0

/// A recording being read.
typedef struct SrTakeReaderImpl SrTakeReader;

/// What was seen of a recording while it was read.
typedef struct {
  double rate_hz;          ///< Samples a second
  double recorded_hz;      ///< Samples a second that the file holds: less than `rate_hz` where they
                           ///< were too few and others were put between them
  int channels;            ///< Channels of the file, at least 1
  double seconds;          ///< Length of what was read
  double peak_dbfs;        ///< Largest absolute sample of any channel; -INFINITY for silence
  size_t clipped_samples;  ///< Frames with a channel at full scale, in runs of three or more;
                           ///< samples of float files that go beyond it are not
  size_t not_finite;       ///< Frames that were no number (NaN) or infinite
  double offset;           ///< Mean of all samples (DC), full scale 1
  double mix_loss_db;      ///< How much quieter the mono mix is than its channels, power, at least
                           ///< 0; large if channels cancel each other
  bool ended;              ///< The end was reached, so that the next four are known
  bool truncated;          ///< The file breaks off, or is damaged from there on
  double promised_seconds; ///< Length that its header promises; NAN if it does not tell
  bool unfinished;         ///< Its sizes are zeros, as of a recorder that was cut off; all that is
                           ///< there was read
  bool chained;            ///< More recordings follow in the file (Ogg) and were not read
} SrTakeReading;

/**
   Open a recording: WAV, FLAC, Ogg, MP3 or anything else libsndfile reads, with any number of
   channels. Where the library was built with FFmpeg's, what phones, cameras and browsers record
   as well: the sound of m4a, mp4, 3gp, webm, wma, amr and other containers, known by their first
   bytes. No other file and no network is ever opened for it.

   What a codec puts before the start is left out as the container tells. Where packets are
   damaged or missing, samples are NaN, so that what follows keeps its time.

   A file that cannot be read twice (a pipe) is first copied to an unnamed
   temporary file in $TMPDIR (or /tmp), readable by its owner only.

   @param path   File to read; "-" is standard input.
   @param reader Receives it; free it with sr_take_reader_del(). NULL on error.
   @return SR_OK, SR_NOT_FOUND, SR_NO_PERMISSION, SR_BAD_AUDIO (empty, damaged
   or not audio), SR_UNSUPPORTED (rate out of range, or a container or codec that is not read; the
   error then tells the command that converts it), SR_WRITE_FAILED (no room for the copy of a pipe)
   or SR_NO_MEMORY.
*/
SrStatus sr_take_reader_new(const char* path, SrTakeReader** reader, SrError* error);

/// Samples a second, SR_TAKE_LOWEST_RATE_HZ to SR_TAKE_HIGHEST_RATE_HZ.
double sr_take_reader_rate_hz(const SrTakeReader* reader);

/**
   Read the next samples, all channels mixed to one by their mean.

   Samples that are not finite are handed on as they are, and counted.

   @param samples Receives up to `room` samples.
   @param room    At least 1; 65536 or so is fast.
   @return Samples read; 0 at the end of what can be read. Whether that was the
   end that the file promised is told by sr_take_reader_reading().
*/
size_t sr_take_reader_read(SrTakeReader* reader, float* samples, size_t room);

/// What was seen since the start or the last rewind.
SrTakeReading sr_take_reader_reading(const SrTakeReader* reader);

/// Back to the first sample. SR_OK or SR_BAD_AUDIO if the file changed meanwhile.
SrStatus sr_take_reader_rewind(SrTakeReader* reader, SrError* error);

/// Free; NULL does nothing.
void sr_take_reader_del(SrTakeReader* reader);

/**
   Where sound comes from: fills `samples` with up to `count` samples and
   returns how many, 0 at the end. Called from the thread that called
   sr_audio_write() or sr_player_play(), never from a real-time thread.
*/
typedef size_t (*SrAudioSource)(void* context, float* samples, size_t count);

/// How samples are written.
typedef enum {
  SR_SAMPLES_16_BIT,
  SR_SAMPLES_24_BIT,
  SR_SAMPLES_FLOAT, ///< 32-bit float; WAV only
} SrSampleFormat;

/**
   Write a mono sound file, WAV or FLAC by the end of its name (".wav",
   ".flac", capitals or not). Samples beyond full scale are clipped unless the format is
   float. A file that could not be finished is removed.

   @param path    File to write; one that exists is replaced.
   @param rate_hz Whole number from 8000 to 192000.
   @param format  How samples are kept.
   @param source  Where they come from.
   @param context Handed to `source`.
   @return SR_OK, SR_BAD_ARGUMENT (rate), SR_UNSUPPORTED (end of name, or float in FLAC),
   SR_NOT_FOUND (folder), SR_NO_PERMISSION, SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_audio_write(const char* path, double rate_hz, SrSampleFormat format,
                        SrAudioSource source, void* context, SrError* error);

/// The default output device, opened.
typedef struct SrPlayerImpl SrPlayer;

/**
   Open the default output device.

   While the audio server is asked, file descriptor 2 (standard error) points to
   /dev/null, because ALSA and JACK write there whatever they miss. So do not
   write to it from another thread meanwhile.

   @param player Receives it; NULL on error.
   @return SR_OK, SR_DEVICE_TROUBLE (no device, or it refuses) or SR_NO_MEMORY.
*/
SrStatus sr_player_new(SrPlayer** player, SrError* error);

/// Samples a second that the device takes by itself.
double sr_player_rate_hz(const SrPlayer* player);

/**
   Play until the source ends and its last sample is out. Blocks meanwhile.

   @param player  As opened.
   @param source  Samples at sr_player_rate_hz().
   @param context Handed to `source`.
   @return SR_OK, SR_DEVICE_TROUBLE or SR_NO_MEMORY.
*/
SrStatus sr_player_play(SrPlayer* player, SrAudioSource source, void* context, SrError* error);

/// Stop and free; NULL does nothing.
void sr_player_del(SrPlayer* player);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_AUDIO_H
