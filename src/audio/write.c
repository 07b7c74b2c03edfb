// SPDX-License-Identifier: GPL-3.0-or-later

// Nothing here runs in a real-time thread.

#include <steadyreed/audio.h>
#include <steadyreed/output.h>

#include <sndfile.h>

#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define CHUNK_SAMPLES 65536u

/// Container for a file extension; 0 if it is unsupported.
static int
container_of_name(const char* const path)
{
  const char* const slash = strrchr(path, '/');
  const char* const name = slash ? slash + 1 : path;
  const char* const dot = strrchr(name, '.');
  if (!dot || dot == name) {
    return 0;
  }
  if (!strcasecmp(dot, ".wav")) {
    return SF_FORMAT_WAV;
  }
  return strcasecmp(dot, ".flac") ? 0 : SF_FORMAT_FLAC;
}

static int
encoding_of(const SrSampleFormat format)
{
  switch (format) {
  case SR_SAMPLES_16_BIT:
    return SF_FORMAT_PCM_16;
  case SR_SAMPLES_24_BIT:
    return SF_FORMAT_PCM_24;
  case SR_SAMPLES_FLOAT:
    return SF_FORMAT_FLOAT;
  }
  return 0;
}

/// Write everything the source delivers.
static SrStatus
write_samples(SNDFILE* const file, const SrAudioSource source, void* const context,
              SrError* const error)
{
  float* const chunk = malloc(CHUNK_SAMPLES * sizeof(float));
  if (!chunk) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write the sound.");
  }
  SrStatus outcome = SR_OK;
  size_t count;
  while (outcome == SR_OK && (count = source(context, chunk, CHUNK_SAMPLES)) > 0) {
    if (sf_writef_float(file, chunk, (sf_count_t)count) != (sf_count_t)count) {
      outcome =
          sr_error_set(error, SR_WRITE_FAILED, "The file could not be finished. Is the disk full?");
    }
  }
  free(chunk);
  return outcome;
}

SrStatus
sr_audio_write(const char* const path, const double rate_hz, const SrSampleFormat format,
               const SrAudioSource source, void* const context, SrError* const error)
{
  SrStatus outcome = SR_OK;
  const int container = container_of_name(path);
  SF_INFO info = {0};
  info.samplerate = (int)lrint(rate_hz);
  info.channels = 1;
  info.format = container | encoding_of(format);
  if (!container) {
    outcome = sr_error_set(error, SR_UNSUPPORTED,
                           "The ending of the name decides the format: use .wav or .flac.");
  } else if (container == SF_FORMAT_FLAC && format == SR_SAMPLES_FLOAT) {
    outcome = sr_error_set(error, SR_UNSUPPORTED,
                           "FLAC keeps 16 or 24 bits a sample, not float. Write WAV for float.");
  } else if (!(rate_hz >= 8000.0 && rate_hz <= SR_TAKE_HIGHEST_RATE_HZ) ||
             fabs(rate_hz - (double)info.samplerate) > 0.0 || !sf_format_check(&info)) {
    outcome = sr_error_set(error, SR_BAD_ARGUMENT,
                           "A sound file needs a whole number of 8000 to 192000 samples a second.");
  }
  if (outcome != SR_OK) {
    sr_error_place(error, path, 0, 0);
    return outcome;
  }

  SrOutput* output = NULL;
  outcome = sr_output_new(path, &output, error);
  if (outcome != SR_OK) {
    return outcome;
  }
  // libsndfile closes the descriptor if opening fails, whatever it was reported; so pass a copy
  const int copy = fcntl(sr_output_descriptor(output), F_DUPFD_CLOEXEC, 3);
  SNDFILE* const file = copy < 0 ? NULL : sf_open_fd(copy, SFM_WRITE, &info, SF_TRUE);
  if (!file) {
    outcome = sr_error_set(error, SR_WRITE_FAILED, "The file could not be started: %s.",
                           sf_strerror(NULL));
  } else {
    // Without this, samples beyond full scale would wrap around
    sf_command(file, SFC_SET_CLIPPING, NULL, SF_TRUE);
    outcome = write_samples(file, source, context, error);
    if (sf_close(file) != 0 && outcome == SR_OK) {
      outcome =
          sr_error_set(error, SR_WRITE_FAILED, "The file could not be finished. Is the disk full?");
    }
  }
  if (outcome == SR_OK) {
    outcome = sr_output_finish(output, error);
  } else {
    sr_error_place(error, path, 0, 0);
  }
  sr_output_del(output);
  return outcome;
}
