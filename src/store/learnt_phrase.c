// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/learnt_phrase.h>

#include "data_folder.h"
#include "new_name.h"
#include "plain_name.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Most files of one name that are tried.
#define MOST_NUMBER 10000u

static SrStatus
refuse(const int reason, const char* const path, SrError* const error)
{
  if (reason == ENOMEM) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to keep the phrase.");
  }
  const SrStatus status =
      reason == ENOSPC || reason == EDQUOT
          ? sr_error_set(error, SR_WRITE_FAILED,
                         "The disk is full, so the phrase was not kept. Make some room on it.")
          : sr_error_set(error, SR_WRITE_FAILED, "The phrase could not be kept: %s.",
                         strerror(reason));
  sr_error_place(error, path, 0, 0);
  return status;
}

/// Write all bytes to a new file, for its owner only. 0 or errno.
static int
write_new(char* const path, const char* const text, const size_t size)
{
  const int descriptor = mkostemp(path, O_CLOEXEC);
  if (descriptor < 0) {
    return errno;
  }
  int reason = 0;
  size_t done = 0;
  while (!reason && done < size) {
    const ssize_t written = write(descriptor, text + done, size - done);
    done += written > 0 ? (size_t)written : 0;
    reason = written < 0 && errno != EINTR ? errno : 0;
  }
  if (!reason && fsync(descriptor) && errno != EINVAL) {
    reason = errno;
  }
  if (close(descriptor) && !reason) {
    reason = errno;
  }
  if (reason) {
    (void)unlink(path);
  }
  return reason;
}

/// Whether a file holds just this text.
static bool
holds(const char* const path, const char* const text, const size_t size)
{
  struct stat status;
  FILE* const file =
      !stat(path, &status) && S_ISREG(status.st_mode) && status.st_size == (off_t)size
          ? fopen(path, "rb")
          : NULL;
  char* const read = file ? malloc(size + 1) : NULL;
  const bool same = read && fread(read, 1, size, file) == size && !memcmp(read, text, size);
  free(read);
  if (file) {
    fclose(file);
  }
  return same;
}

/// Give the file that was written the first free name, or take the one that holds the same.
static int
name_it(const char* const written, const char* const folder, const char* const plain,
        const char* const text, const size_t size, char** const path)
{
  for (unsigned number = 1; number <= MOST_NUMBER; ++number) {
    char ending[16] = "";
    if (number > 1) {
      snprintf(ending, sizeof(ending), "-%u", number);
    }
    if (asprintf(path, "%s/%s%s.abc", folder, plain, ending) < 0) {
      *path = NULL;
      return ENOMEM;
    }
    const int reason = sr_new_name(written, *path);
    if (!reason || (reason == EEXIST && holds(*path, text, size))) {
      return 0;
    }
    free(*path);
    *path = NULL;
    if (reason != EEXIST) {
      return reason;
    }
  }
  return EEXIST;
}

SrStatus
sr_learnt_phrase_keep(const char* const title, const char* const text, const size_t size,
                      char** const path, SrError* const error)
{
  *path = NULL;
  char* folder = NULL;
  char* written = NULL;
  char plain[SR_PLAIN_NAME_MOST + 1];
  sr_plain_name(title, plain);
  const SrStatus status = sr_data_folder("learnt", "learnt phrases", true, &folder, error);
  if (status != SR_OK) {
    return status;
  }
  int reason = asprintf(&written, "%s/.new-XXXXXX", folder) < 0 ? ENOMEM : 0;
  written = reason ? NULL : written;
  if (!reason) {
    reason = write_new(written, text, size);
    if (!reason) {
      reason = name_it(written, folder, plain[0] ? plain : "phrase", text, size, path);
      (void)unlink(written);
    }
  }
  const SrStatus outcome = reason ? refuse(reason, folder, error) : SR_OK;
  free(written);
  free(folder);
  return outcome;
}
