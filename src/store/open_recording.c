// SPDX-License-Identifier: GPL-3.0-or-later

#include "open_recording.h"

#include <errno.h>
#include <fcntl.h>
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
                        "There is no such recording. Check the spelling and the folder.");
  case EACCES:
  case EPERM:
    return sr_error_set(error, SR_NO_PERMISSION,
                        "You are not allowed to read this recording. Check its permissions.");
  case ELOOP:
    return sr_error_set(error, SR_BAD_AUDIO,
                        "This is a link to a recording. Name the recording itself.");
  default:
    return sr_error_set(error, SR_BAD_AUDIO, "The recording could not be opened: %s.",
                        strerror(reason));
  }
}

SrStatus
sr_kept_take_open(const char* const path, const bool follow_link, SrKeptTake* const take,
                  SrError* const error)
{
  memset(take, 0, sizeof(*take));
  // Do not block on a pipe without a writer
  take->descriptor =
      open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY | (follow_link ? 0 : O_NOFOLLOW));
  if (take->descriptor < 0) {
    const SrStatus outcome = refuse_open(errno, error);
    sr_error_place(error, path, 0, 0);
    return outcome;
  }
  struct stat status;
  const bool regular = !fstat(take->descriptor, &status) && S_ISREG(status.st_mode);
  if (regular) {
    take->size = status.st_size;
    // libsndfile closes the descriptor if opening fails, whatever it was reported; so pass a copy
    const int copy = fcntl(take->descriptor, F_DUPFD_CLOEXEC, 3);
    take->file = copy < 0 ? NULL : sf_open_fd(copy, SFM_READ, &take->info, SF_TRUE);
  }
  if (!take->file) {
    sr_kept_take_close(take);
    const SrStatus outcome =
        sr_error_set(error, SR_BAD_AUDIO,
                     regular ? "This is not a recording, or it is damaged from the start."
                             : "This is not a recording but a folder or a device.");
    sr_error_place(error, path, 0, 0);
    return outcome;
  }
  return SR_OK;
}

bool
sr_kept_take_knows_length(const SrKeptTake* const take)
{
  return take->info.frames > 0 && take->info.frames < SF_COUNT_MAX;
}

bool
sr_kept_take_is_read(const SrKeptTake* const take)
{
  return lseek(take->descriptor, 0, SEEK_CUR) >= take->size;
}

void
sr_kept_take_close(SrKeptTake* const take)
{
  if (take->file) {
    sf_close(take->file);
    take->file = NULL;
  }
  if (take->descriptor >= 0) {
    close(take->descriptor);
    take->descriptor = -1;
  }
}
