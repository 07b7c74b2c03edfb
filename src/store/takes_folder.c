// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/recording.h>

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

/// Most letters of a title in a file name, which is limited to 255 bytes on most file systems.
#define MOST_TITLE 60u

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
refuse_folder(const int reason, SrError* const error)
{
  switch (reason) {
  case EACCES:
  case EPERM:
  case EROFS:
    return sr_error_set(error, SR_NO_PERMISSION,
                        "You are not allowed to write into the takes folder. Set XDG_DATA_HOME to "
                        "a folder of your own, or change its permissions.");
  case ENOTDIR:
    return sr_error_set(
        error, SR_WRITE_FAILED,
        "The takes folder cannot be made because a file has its name. Move that file away.");
  case ENOSPC:
  case EDQUOT:
    return sr_error_set(
        error, SR_WRITE_FAILED,
        "The disk is full, so the takes folder cannot be made. Make some room on it.");
  default:
    return sr_error_set(error, SR_WRITE_FAILED, "The takes folder could not be made: %s.",
                        strerror(reason));
  }
}

SrStatus
sr_takes_folder(char** const folder, SrError* const error)
{
  *folder = NULL;
  const char* const data = named_folder("XDG_DATA_HOME");
  const char* const home = named_folder("HOME");
  if (!data && !home) {
    return sr_error_set(error, SR_NOT_FOUND,
                        "There is no home folder to keep takes in. Set HOME or XDG_DATA_HOME to a "
                        "folder of your own.");
  }
  char* path = NULL;
  if (asprintf(&path, "%s%s/steadyreed/takes", data ? data : home, data ? "" : "/.local/share") <
      0) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to record.");
  }
  int reason = make_folders(path);
  if (!reason && access(path, W_OK | X_OK)) {
    reason = errno;
  }
  if (reason) {
    const SrStatus outcome = refuse_folder(reason, error);
    sr_error_place(error, path, 0, 0);
    free(path);
    return outcome;
  }
  *folder = path;
  return SR_OK;
}

/// Title in lower-case ASCII letters and digits, with one '-' for anything else between them.
static void
make_plain(const char* const title, char plain[MOST_TITLE + 1])
{
  size_t length = 0;
  bool gap = false;
  for (const char* c = title; *c && length + 2 <= MOST_TITLE; ++c) {
    const char small = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;
    if ((small >= 'a' && small <= 'z') || (small >= '0' && small <= '9')) {
      if (gap && length > 0) {
        plain[length++] = '-';
      }
      plain[length++] = small;
      gap = false;
    } else {
      gap = true;
    }
  }
  plain[length] = '\0';
}

SrStatus
sr_take_name(const char* const folder, const char* const title, char** const path,
             SrError* const error)
{
  *path = NULL;
  char plain[MOST_TITLE + 1];
  make_plain(title, plain);
  char date[64] = "";
  struct tm local;
  const time_t now = time(NULL);
  if (!localtime_r(&now, &local) || !strftime(date, sizeof(date), "%Y-%m-%d-%H%M%S", &local)) {
    snprintf(date, sizeof(date), "%lld", (long long)now);
  }
  const size_t length = strlen(folder);
  const char* const slash = length > 0 && folder[length - 1] == '/' ? "" : "/";
  for (unsigned number = 1;; ++number) {
    char ending[16] = "";
    if (number > 1) {
      snprintf(ending, sizeof(ending), "-%u", number);
    }
    char* name = NULL;
    if (asprintf(&name, "%s%s%s%s%s%s.flac", folder, slash, date, *plain ? "-" : "", plain,
                 ending) < 0) {
      return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to record.");
    }
    struct stat status;
    if (lstat(name, &status)) {
      *path = name;
      return SR_OK;
    }
    free(name);
  }
}
