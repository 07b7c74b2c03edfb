// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/input.h>

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Initial buffer size, bytes; doubled when full.
#define FIRST_BYTES 65536u

/// Read to the end, or one byte past the limit. NULL without memory; `reason` receives an errno if
/// reading failed.
static char*
read_all(const int descriptor, const size_t most, size_t* const size, int* const reason)
{
  size_t room = FIRST_BYTES;
  size_t fill = 0;
  char* text = (char*)malloc(room + 1);
  while (text && fill <= most) {
    if (fill == room) {
      char* const more = (char*)realloc(text, 2 * room + 1);
      if (!more) {
        free(text);
        return NULL;
      }
      text = more;
      room *= 2;
    }
    const ssize_t count = read(descriptor, text + fill, room - fill);
    if (count < 0 && errno == EINTR) {
      continue;
    }
    if (count <= 0) {
      *reason = count < 0 ? errno : 0;
      break;
    }
    fill += (size_t)count;
  }
  if (text) {
    text[fill] = '\0';
  }
  *size = fill;
  return text;
}

/// Open a file; -1 and errno on error, errno 0 if it must be a regular file but is not.
static int
open_input(const char* const path, const SrInputKind* const kind)
{
  // Without this, opening a pipe that has no writer would block
  const int waiting = kind->regular_only ? O_NONBLOCK : 0;
  const int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | waiting);
  struct stat status;
  if (descriptor >= 0 && kind->regular_only &&
      (fstat(descriptor, &status) || !S_ISREG(status.st_mode))) {
    close(descriptor);
    errno = 0;
    return -1;
  }
  return descriptor;
}

SrStatus
sr_input_read(const char* const path, const SrInputKind* const kind, char** const text,
              size_t* const size, SrError* const error)
{
  *text = NULL;
  *size = 0;
  SrStatus status = SR_OK;
  const int descriptor = open_input(path, kind);
  if (descriptor < 0 && errno == 0) {
    status = sr_error_set(error, SR_UNSUPPORTED, "The %s is not a file.", kind->what);
  } else if (descriptor < 0) {
    status =
        sr_error_set(error, errno == EACCES || errno == EPERM ? SR_NO_PERMISSION : SR_NOT_FOUND,
                     "The %s cannot be opened: %s.", kind->what, strerror(errno));
  }
  if (status != SR_OK) {
    sr_error_place(error, path, 0, 0);
    return status;
  }
  int reason = 0;
  char* const read = read_all(descriptor, kind->most, size, &reason);
  close(descriptor);
  if (!read) {
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory.");
  } else if (reason == EISDIR) {
    status =
        sr_error_set(error, SR_NOT_FOUND, "The %s cannot be read: this is a folder.", kind->what);
  } else if (reason) {
    status = sr_error_set(error, SR_NOT_FOUND, "The %s cannot be read: %s.", kind->what,
                          strerror(reason));
  } else if (*size > kind->most) {
    status =
        sr_error_set(error, SR_TOO_LARGE, "A %s may be at most %zu bytes.", kind->what, kind->most);
  }
  if (status != SR_OK) {
    sr_error_place(error, path, 0, 0);
    free(read);
    *size = 0;
    return status;
  }
  *text = read;
  return SR_OK;
}
