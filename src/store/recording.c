// SPDX-License-Identifier: GPL-3.0-or-later

// Nothing here runs in a real-time thread.

#include <steadyreed/recording.h>

#include "flac_file.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define LOWEST_RATE_HZ 16000.0
#define HIGHEST_RATE_HZ 192000.0
/// Full scale of 24 bits.
#define FULL_SCALE 8388608.0f
#define CHUNK_FRAMES 1024u
/// Size reserved for a note: with the rest of the header, about 200 bytes, it stays within the
/// first page of 4096 bytes. A kill can come between two pages of one write(), leaving part of a
/// header that spans two.
#define NOTE_ROOM 3584u

struct SrRecordingImpl {
  SrFlacFile* file;
  char* path;
  double rate_hz;
};

static SrStatus
refuse_open(const int reason, SrError* const error)
{
  switch (reason) {
  case EEXIST:
    return sr_error_set(
        error, SR_EXISTS,
        "There is already a file of that name, and it is left alone. Name another.");
  case ENOENT:
  case ENOTDIR:
    return sr_error_set(error, SR_NOT_FOUND,
                        "The folder to record into does not exist. Make it first, or name "
                        "another.");
  case EACCES:
  case EPERM:
  case EROFS:
    return sr_error_set(
        error, SR_NO_PERMISSION,
        "You are not allowed to record into this folder. Name another, or change its permissions.");
  case ENOSPC:
  case EDQUOT:
    return sr_error_set(error, SR_WRITE_FAILED,
                        "The disk is full, so nothing can be recorded. Make some room on it.");
  default:
    return sr_error_set(error, SR_WRITE_FAILED, "The recording could not be started: %s.",
                        strerror(reason));
  }
}

/// Create a file that must not exist.
static SrStatus
open_new(const char* const path, int* const descriptor, SrError* const error)
{
  *descriptor = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
  if (*descriptor < 0) {
    return refuse_open(errno, error);
  }
  // The umask may have removed the owner's permissions; ignore file systems that have none
  (void)fchmod(*descriptor, 0600);
  return SR_OK;
}

/// A note padded with spaces, so that it can be replaced in place; "" is left as it is.
static const char*
make_room(const char* const note, char room[SR_TAKE_NOTE_SIZE])
{
  const size_t length = note ? strlen(note) : 0;
  if (length == 0) {
    return "";
  }
  memset(room, ' ', NOTE_ROOM);
  memcpy(room, note, length);
  room[length > NOTE_ROOM ? length : NOTE_ROOM] = '\0';
  return room;
}

SrStatus
sr_recording_new(const char* const path, const double rate_hz, const char* const note,
                 SrRecording** const recording, SrError* const error)
{
  *recording = NULL;
  SrStatus outcome = SR_OK;
  if (!(rate_hz >= LOWEST_RATE_HZ && rate_hz <= HIGHEST_RATE_HZ) ||
      !sr_flac_file_takes_rate(rate_hz)) {
    outcome = sr_error_set(error, SR_BAD_ARGUMENT,
                           "A recording needs a whole number of samples a second from 16000 to "
                           "192000, and a multiple of ten above 65535.");
  } else if (note && strnlen(note, SR_TAKE_NOTE_SIZE) >= SR_TAKE_NOTE_SIZE) {
    outcome = sr_error_set(error, SR_BAD_ARGUMENT, "The note about the take is longer than 4 kB.");
  }
  if (outcome != SR_OK) {
    sr_error_place(error, path, 0, 0);
    return outcome;
  }

  SrRecording* const made = calloc(1, sizeof(SrRecording));
  char* const copy = strdup(path);
  if (!made || !copy) {
    free(made);
    free(copy);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to record.");
  }
  made->path = copy;
  made->rate_hz = rate_hz;
  int descriptor = -1;
  char room[SR_TAKE_NOTE_SIZE];
  outcome = sr_flac_file_new(rate_hz, make_room(note, room), &made->file, error);
  if (outcome == SR_OK) {
    outcome = open_new(path, &descriptor, error);
  }
  if (outcome == SR_OK && !sr_flac_file_begin(made->file, descriptor)) {
    outcome = sr_error_set(error, SR_WRITE_FAILED, "%s Nothing was recorded.",
                           sr_flac_file_trouble(made->file));
  }
  if (outcome != SR_OK) {
    sr_recording_discard(made);
    sr_error_place(error, path, 0, 0);
    return outcome;
  }
  *recording = made;
  return SR_OK;
}

/// A sample in the upper 24 of 32 bits.
static int32_t
whole_number(const float sample)
{
  if (isnan(sample)) {
    return 0;
  }
  const float scaled = sample * FULL_SCALE;
  const int32_t value = scaled >= FULL_SCALE - 1.0f ? INT32_C(8388607)
                        : scaled <= -FULL_SCALE     ? INT32_C(-8388608)
                                                    : (int32_t)lrintf(scaled);
  return value * 256;
}

static SrStatus
say_trouble(const SrRecording* const recording, SrError* const error)
{
  sr_error_set(error, SR_WRITE_FAILED, "%s", sr_flac_file_trouble(recording->file));
  sr_error_place(error, recording->path, 0, 0);
  return SR_WRITE_FAILED;
}

SrStatus
sr_recording_write(SrRecording* const recording, const float* const samples, const size_t count,
                   SrError* const error)
{
  int32_t chunk[CHUNK_FRAMES];
  bool good = true;
  for (size_t done = 0; good && done < count;) {
    const size_t size = count - done < CHUNK_FRAMES ? count - done : CHUNK_FRAMES;
    for (size_t i = 0; i < size; ++i) {
      chunk[i] = whole_number(samples[done + i]);
    }
    good = sr_flac_file_write(recording->file, chunk, size);
    done += size;
  }
  return good ? SR_OK : say_trouble(recording, error);
}

bool
sr_recording_set_note(SrRecording* const recording, const char* const note)
{
  return sr_flac_file_set_note(recording->file, note);
}

uint64_t
sr_recording_frames(const SrRecording* const recording)
{
  return sr_flac_file_frames(recording->file);
}

const char*
sr_recording_path(const SrRecording* const recording)
{
  return recording->path;
}

SrStatus
sr_recording_finish(SrRecording* const recording, SrError* const error)
{
  const SrStatus outcome =
      sr_flac_file_finish(recording->file) ? SR_OK : say_trouble(recording, error);
  sr_flac_file_del(recording->file);
  free(recording->path);
  free(recording);
  return outcome;
}

/// Whether a path still refers to the open file.
static bool
is_same_file(const char* const path, const int descriptor)
{
  struct stat ours;
  struct stat there;
  return descriptor >= 0 && !fstat(descriptor, &ours) && !lstat(path, &there) &&
         ours.st_dev == there.st_dev && ours.st_ino == there.st_ino;
}

void
sr_recording_discard(SrRecording* const recording)
{
  if (!recording) {
    return;
  }
  if (recording->file && is_same_file(recording->path, sr_flac_file_descriptor(recording->file))) {
    unlink(recording->path);
  }
  sr_flac_file_del(recording->file);
  free(recording->path);
  free(recording);
}
