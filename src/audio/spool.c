// SPDX-License-Identifier: GPL-3.0-or-later

#include "spool.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

/// Write all of a buffer; 0 on success.
static int
write_all(const int descriptor, const char* const bytes, const size_t size)
{
  size_t done = 0;
  while (done < size) {
    const ssize_t count = write(descriptor, bytes + done, size - done);
    if (count < 0 && errno == EINTR) {
      continue;
    }
    if (count <= 0) {
      return -1;
    }
    done += (size_t)count;
  }
  return 0;
}

SrStatus
sr_spool_pipe(const int source, const int64_t most, int* const descriptor, SrError* const error)
{
  *descriptor = -1;
  const char* const asked = getenv("TMPDIR");
  char path[PATH_MAX];
  const int length =
      snprintf(path, sizeof(path), "%s/steadyreed-XXXXXX", asked && *asked ? asked : "/tmp");
  // mkstemp() makes the file readable by its owner only
  const int copy = length > 0 && (size_t)length < sizeof(path) ? mkstemp(path) : -1;
  if (copy < 0) {
    return sr_error_set(error, SR_WRITE_FAILED,
                        "A take from a pipe needs a temporary file, and none could be made: %s. "
                        "Set TMPDIR to a folder with room.",
                        strerror(errno));
  }
  unlink(path);

  char buffer[65536];
  int64_t total = 0;
  for (;;) {
    const ssize_t count = read(source, buffer, sizeof(buffer));
    if (count == 0) {
      break;
    }
    if (count < 0 && errno == EINTR) {
      continue;
    }
    if (count < 0) {
      const int reason = errno;
      close(copy);
      return sr_error_set(error, SR_BAD_AUDIO, "The take could not be read: %s.", strerror(reason));
    }
    total += count;
    if (total > most) {
      close(copy);
      return sr_error_set(error, SR_TOO_LARGE,
                          "Reading stopped after %lld MiB, and there was still more to come. Give "
                          "a longer take as a file.",
                          (long long)(most >> 20));
    }
    if (write_all(copy, buffer, (size_t)count)) {
      const int reason = errno;
      close(copy);
      return sr_error_set(error, SR_WRITE_FAILED,
                          "There was no room for a copy of the take: %s. Set TMPDIR to a folder "
                          "with room, or give the take as a file.",
                          strerror(reason));
    }
  }
  lseek(copy, 0, SEEK_SET);
  *descriptor = copy;
  return SR_OK;
}
