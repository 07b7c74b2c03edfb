// SPDX-License-Identifier: GPL-3.0-or-later

#include "data_folder.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// A variable that names a folder; NULL if it is unset, empty or relative.
static const char*
named_folder(const char* const variable)
{
  // Relative paths are to be ignored (XDG Base Directory Specification 0.8)
  const char* const value = getenv(variable);
  return value && value[0] == '/' ? value : NULL;
}

/// Create a folder and its parents for the owner only. 0 or errno.
static int
make_folders(char* const path)
{
  for (char* c = path + 1;; ++c) {
    if (*c != '/' && *c != '\0') {
      continue;
    }
    const char ending = *c;
    *c = '\0';
    int reason = mkdir(path, 0700) ? errno : 0;
    struct stat status;
    if (!reason) {
      // The umask may have removed the owner's permissions
      (void)chmod(path, 0700);
    } else if (!stat(path, &status)) {
      // For an existing folder mkdir() may report a read-only disk first
      reason = S_ISDIR(status.st_mode) ? 0 : ENOTDIR;
    }
    *c = ending;
    if (reason || ending == '\0') {
      return reason;
    }
  }
}

static SrStatus
refuse_folder(const int reason, const char* const what, SrError* const error)
{
  switch (reason) {
  case EACCES:
  case EPERM:
  case EROFS:
    return sr_error_set(error, SR_NO_PERMISSION,
                        "You are not allowed to write into the %s folder. Set XDG_DATA_HOME to "
                        "a folder of your own, or change its permissions.",
                        what);
  case ENOTDIR:
    return sr_error_set(
        error, SR_WRITE_FAILED,
        "The %s folder cannot be made because a file has its name. Move that file away.", what);
  case ENOSPC:
  case EDQUOT:
    return sr_error_set(error, SR_WRITE_FAILED,
                        "The disk is full, so the %s folder cannot be made. Make some room on it.",
                        what);
  default:
    return sr_error_set(error, SR_WRITE_FAILED, "The %s folder could not be made: %s.", what,
                        strerror(reason));
  }
}

SrStatus
sr_data_folder(const char* const inner, const char* const what, const bool make,
               char** const folder, SrError* const error)
{
  *folder = NULL;
  const char* const data = named_folder("XDG_DATA_HOME");
  const char* const home = named_folder("HOME");
  if (!data && !home) {
    return sr_error_set(error, SR_NOT_FOUND,
                        "There is no home folder to keep %s in. Set HOME or XDG_DATA_HOME to a "
                        "folder of your own.",
                        what);
  }
  char* path = NULL;
  if (asprintf(&path, "%s%s/steadyreed%s%s", data ? data : home, data ? "" : "/.local/share",
               inner ? "/" : "", inner ? inner : "") < 0) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory for the %s folder.", what);
  }
  int reason = make ? make_folders(path) : 0;
  if (make && !reason && access(path, W_OK | X_OK)) {
    reason = errno;
  }
  if (reason) {
    const SrStatus outcome = refuse_folder(reason, what, error);
    sr_error_place(error, path, 0, 0);
    free(path);
    return outcome;
  }
  *folder = path;
  return SR_OK;
}
