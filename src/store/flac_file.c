// SPDX-License-Identifier: GPL-3.0-or-later

// Nothing here runs in a real-time thread.

#include "flac_file.h"

#include <sndfile.h>

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Buffer for the header before there is a file: 4 kB of note and about 100 bytes.
#define HEADER_SIZE 8192u
/// Offset of the least and greatest block size in a FLAC file, 16 bits each, big-endian (RFC 9639,
/// 8.1 and 8.2: "fLaC", 4 bytes of block header, then STREAMINFO).
#define BLOCK_SIZE_AT 8u
/// Samples handed to the encoder at once; less than a block, so that a call ends at most one block.
#define CHUNK_FRAMES 1024u

struct SrFlacFileImpl {
  SNDFILE* file;
  int descriptor;
  int reason; ///< errno of the first failure, 0 if there was none

  sf_count_t position;
  sf_count_t end; ///< File size of the whole frames, bytes

  uint64_t frames;        ///< Handed to the encoder
  uint64_t blocks;        ///< Written after the header
  uint64_t block_samples; ///< In each block but the last

  bool named;       ///< Had a name at the start, as far as the file system tells
  bool refuses;     ///< Writes nothing more
  size_t note_at;   ///< Offset of the note, bytes; 0 without one
  size_t note_room; ///< Size of the note, bytes
  unsigned char header[HEADER_SIZE];
};

/// Write a whole buffer at an offset; 0, or errno.
static int
write_all(const int descriptor, const unsigned char* const bytes, const size_t size,
          const off_t place)
{
  size_t done = 0;
  while (done < size) {
    const ssize_t count = pwrite(descriptor, bytes + done, size - done, place + (off_t)done);
    if (count > 0) {
      done += (size_t)count;
    } else if (count == 0) {
      return ENOSPC;
    } else if (errno != EINTR) {
      return errno;
    }
  }
  return 0;
}

/// Whether the file has been unlinked, so that what is written is lost.
static bool
is_nameless(const int descriptor)
{
  struct stat status;
  return !fstat(descriptor, &status) && status.st_nlink == 0;
}

static sf_count_t
take_length(void* const context)
{
  const SrFlacFile* const file = context;
  return file->end;
}

static sf_count_t
take_seek(const sf_count_t offset, const int whence, void* const context)
{
  SrFlacFile* const file = context;
  const sf_count_t from = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? file->position : file->end;
  const sf_count_t wanted = from + offset;
  if (wanted < 0 || wanted > file->end) {
    return -1;
  }
  file->position = wanted;
  return wanted;
}

static sf_count_t
take_tell(void* const context)
{
  const SrFlacFile* const file = context;
  return file->position;
}

/// Read callback: nothing is ever read back.
static sf_count_t
take_nothing(void* const bytes, const sf_count_t size, void* const context)
{
  (void)bytes;
  (void)size;
  (void)context;
  return 0;
}

static sf_count_t
take_bytes(const void* const bytes, const sf_count_t size, void* const context)
{
  SrFlacFile* const file = context;
  if (file->refuses || file->reason || size <= 0) {
    return 0;
  }
  const bool appends = file->position == file->end;
  if (file->descriptor < 0) {
    if (file->position + size > (sf_count_t)sizeof(file->header)) {
      file->reason = EFBIG;
      return 0;
    }
    memcpy(file->header + file->position, bytes, (size_t)size);
  } else {
    file->reason = file->named && is_nameless(file->descriptor)
                       ? ENOENT
                       : write_all(file->descriptor, bytes, (size_t)size, (off_t)file->position);
    if (file->reason) {
      // A partial frame would only disturb readers
      const int kept = ftruncate(file->descriptor, (off_t)file->end);
      (void)kept;
      return 0;
    }
    file->blocks += appends ? 1 : 0;
  }
  file->position += size;
  file->end = file->position > file->end ? file->position : file->end;
  return size;
}

bool
sr_flac_file_takes_rate(const double rate_hz)
{
  if (!(rate_hz >= 1.0 && rate_hz <= 655350.0)) {
    return false;
  }
  const long whole = lrint(rate_hz);
  return !(fabs(rate_hz - (double)whole) > 0.0) && (whole <= 65535 || whole % 10 == 0);
}

/// Find the note in the header; false if it is not there: libsndfile silently omits invalid UTF-8.
static bool
find_note(SrFlacFile* const file, const char* const note)
{
  static const char name[] = "comment=";
  const size_t length = strlen(note);
  const unsigned char* const from = memmem(file->header, (size_t)file->end, name, strlen(name));
  if (!from) {
    return false;
  }
  const unsigned char* const value = from + strlen(name);
  file->note_at = (size_t)(value - file->header);
  file->note_room = length;
  return (size_t)file->end - file->note_at >= length && !memcmp(value, note, length);
}

SrStatus
sr_flac_file_new(const double rate_hz, const char* const note, SrFlacFile** const file,
                 SrError* const error)
{
  *file = NULL;
  SrFlacFile* const made = calloc(1, sizeof(SrFlacFile));
  if (!made) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to record.");
  }
  made->descriptor = -1;

  SF_VIRTUAL_IO io = {
      .get_filelen = take_length,
      .seek = take_seek,
      .read = take_nothing,
      .write = take_bytes,
      .tell = take_tell,
  };
  SF_INFO info = {0};
  info.samplerate = (int)lrint(rate_hz);
  info.channels = 1;
  info.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_24;
  made->file = sf_open_virtual(&io, SFM_WRITE, &info, made);
  const bool noted = note && *note;
  if (made->file && noted) {
    sf_set_string(made->file, SF_STR_COMMENT, note);
  }
  if (made->file) {
    // Otherwise libsndfile writes the header piece by piece, and only with the first samples
    sf_command(made->file, SFC_UPDATE_HEADER_NOW, NULL, 0);
  }
  if (!made->file || made->end < (sf_count_t)BLOCK_SIZE_AT + 4) {
    sr_flac_file_del(made);
    return sr_error_set(error, SR_NO_MEMORY, "The encoder could not be started.");
  }
  if (noted && !find_note(made, note)) {
    sr_flac_file_del(made);
    return sr_error_set(error, SR_BAD_ARGUMENT, "The note about the take is not UTF-8 text.");
  }
  made->block_samples =
      ((uint64_t)made->header[BLOCK_SIZE_AT] << 8) | made->header[BLOCK_SIZE_AT + 1];
  *file = made;
  return SR_OK;
}

bool
sr_flac_file_begin(SrFlacFile* const file, const int descriptor)
{
  file->descriptor = descriptor;
  file->named = !is_nameless(descriptor);
  file->reason = write_all(descriptor, file->header, (size_t)file->end, 0);
  return file->reason == 0;
}

bool
sr_flac_file_write(SrFlacFile* const file, const int32_t* const samples, const size_t count)
{
  for (size_t done = 0; done < count && !file->reason;) {
    const size_t size = count - done < CHUNK_FRAMES ? count - done : CHUNK_FRAMES;
    const sf_count_t taken = sf_writef_int(file->file, samples + done, (sf_count_t)size);
    if (taken != (sf_count_t)size && !file->reason) {
      file->reason = EIO;
    }
    file->frames += size;
    done += size;
  }
  return file->reason == 0;
}

bool
sr_flac_file_set_note(SrFlacFile* const file, const char* const note)
{
  unsigned char text[HEADER_SIZE];
  const size_t length = strlen(note);
  if (length > file->note_room || file->reason) {
    return false;
  }
  memset(text, ' ', file->note_room);
  memcpy(text, note, length);
  // The blocks of a FLAC header have no checksum (RFC 9639, 8), so overwriting the old note is
  // enough
  return write_all(file->descriptor, text, file->note_room, (off_t)file->note_at) == 0;
}

uint64_t
sr_flac_file_frames(const SrFlacFile* const file)
{
  const uint64_t written = file->reason == ENOENT ? 0 : file->blocks * file->block_samples;
  return file->reason && written < file->frames ? written : file->frames;
}

int
sr_flac_file_descriptor(const SrFlacFile* const file)
{
  return file->descriptor;
}

bool
sr_flac_file_finish(SrFlacFile* const file)
{
  if (file->file) {
    const bool closed = sf_close(file->file) == 0;
    file->file = NULL;
    if (!closed && !file->reason) {
      file->reason = EIO;
    }
  }
  // Some file systems do not support fsync(); that cannot be helped
  if (!file->reason && fsync(file->descriptor) && errno != EINVAL && errno != EROFS) {
    file->reason = errno;
  }
  const int descriptor = file->descriptor;
  file->descriptor = -1;
  if (close(descriptor) && errno != EINTR && !file->reason) {
    file->reason = errno;
  }
  return file->reason == 0;
}

const char*
sr_flac_file_trouble(const SrFlacFile* const file)
{
  switch (file->reason) {
  case ENOSPC:
    return "The disk is full; make some room on it.";
  case EDQUOT:
    return "Your disk quota is used up; make some room on it.";
  case EFBIG:
    return "Files cannot be larger than this here; make shorter takes, or raise the limit.";
  case ENOENT:
    return "The file was removed while it was being written; play it again.";
  default:
    return "The disk does not accept the recording; check that it is connected and working.";
  }
}

void
sr_flac_file_del(SrFlacFile* const file)
{
  if (!file) {
    return;
  }
  file->refuses = true;
  if (file->file) {
    sf_close(file->file);
  }
  if (file->descriptor >= 0) {
    close(file->descriptor);
  }
  free(file);
}
