// SPDX-License-Identifier: GPL-3.0-or-later

// Nothing here runs in a real-time thread.

#include <steadyreed/audio.h>

#include <sndfile.h>

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#define CHUNK_SAMPLES 65536u

/// Container by the end of a file name; 0 if it is none of ours.
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

static SrStatus
refuse_open(const int reason, SrError* const error)
{
  switch (reason) {
  case ENOENT:
  case ENOTDIR:
    return sr_error_set(error, SR_NOT_FOUND,
                        "The folder to write into does not exist. Make it "
                        "first, or name another.");
  case EACCES:
  case EPERM:
  case EROFS:
    return sr_error_set(error, SR_NO_PERMISSION,
                        "The system does not let you write this file. Name another place.");
  case EISDIR:
    return sr_error_set(error, SR_WRITE_FAILED,
                        "This is a folder. Name a file in it that ends in .wav or .flac.");
  default:
    return sr_error_set(error, SR_WRITE_FAILED, "The file could not be written: %s.",
                        strerror(reason));
  }
}

/// Write all that the source gives.
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
                           "The end of the name tells what is written: let it be .wav or .flac.");
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

  const int descriptor = open(path, O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
  if (descriptor < 0) {
    outcome = refuse_open(errno, error);
    sr_error_place(error, path, 0, 0);
    return outcome;
  }
  struct stat status;
  const bool regular = !fstat(descriptor, &status) && S_ISREG(status.st_mode);
  // libsndfile closes what it was given if it cannot open it, whatever it was told; so give a copy.
  const int copy = fcntl(descriptor, F_DUPFD_CLOEXEC, 3);
  SNDFILE* const file = copy < 0 ? NULL : sf_open_fd(copy, SFM_WRITE, &info, SF_TRUE);
  if (!file) {
    outcome =
        sr_error_set(error, SR_WRITE_FAILED, "The file could not be begun: %s.", sf_strerror(NULL));
  } else {
    // Without this, samples beyond full scale would wrap around to the other sign.
    sf_command(file, SFC_SET_CLIPPING, NULL, SF_TRUE);
    outcome = write_samples(file, source, context, error);
    if (sf_close(file) != 0 && outcome == SR_OK) {
      outcome =
          sr_error_set(error, SR_WRITE_FAILED, "The file could not be finished. Is the disk full?");
    }
  }
  if (close(descriptor) && outcome == SR_OK) {
    outcome = sr_error_set(error, SR_WRITE_FAILED, "The file could not be finished: %s.",
                           strerror(errno));
  }
  if (outcome != SR_OK) {
    if (regular) {
      unlink(path);
    }
    sr_error_place(error, path, 0, 0);
  }
  return outcome;
}
