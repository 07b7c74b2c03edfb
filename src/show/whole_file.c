// SPDX-License-Identifier: GPL-3.0-or-later

#include "whole_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static SrStatus
refuse_open(const int reason, SrError* const error)
{
  switch (reason) {
  case ENOENT:
  case ENOTDIR:
    return sr_error_set(error, SR_NOT_FOUND,
                        "The folder to write into does not exist. Make it first, or name another.");
  case EACCES:
  case EPERM:
  case EROFS:
    return sr_error_set(error, SR_NO_PERMISSION,
                        "The system does not let you write this file. Name another place.");
  case EISDIR:
    return sr_error_set(error, SR_WRITE_FAILED, "This is a folder. Name a file in it.");
  default:
    return sr_error_set(error, SR_WRITE_FAILED, "The file could not be written: %s.",
                        strerror(reason));
  }
}

/// Whether all went out; else errno says why not.
static bool
write_all(const int descriptor, const unsigned char* bytes, size_t size)
{
  while (size > 0) {
    const ssize_t count = write(descriptor, bytes, size);
    if (count < 0 && errno == EINTR) {
      continue;
    }
    if (count <= 0) {
      errno = count < 0 ? errno : ENOSPC;
      return false;
    }
    bytes += count;
    size -= (size_t)count;
  }
  return true;
}

SrStatus
sr_whole_file_write(const char* const path, const unsigned char* const bytes, const size_t size,
                    SrError* const error)
{
  SrStatus outcome = SR_OK;
  const int descriptor = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
  if (descriptor < 0) {
    outcome = refuse_open(errno, error);
    sr_error_place(error, path, 0, 0);
    return outcome;
  }
  struct stat status;
  const bool regular = !fstat(descriptor, &status) && S_ISREG(status.st_mode);
  int reason = write_all(descriptor, bytes, size) ? 0 : errno;
  if (close(descriptor) && !reason) {
    reason = errno;
  }
  if (reason) {
    if (regular) {
      unlink(path);
    }
    outcome = sr_error_set(error, SR_WRITE_FAILED, "The file could not be finished: %s.",
                           strerror(reason));
    sr_error_place(error, path, 0, 0);
  }
  return outcome;
}
