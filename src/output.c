// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/output.h>

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Temporary names tried beside a file.
#define TRIED_NAMES 100u
/// Longest part of the file's name used in its temporary name, bytes.
#define NAME_PART 200

struct SrOutputImpl {
  char* path;   ///< As given
  char* target; ///< Final path, links resolved; NULL for a device
  char* beside; ///< Path of the temporary file; NULL if it has no name
  int descriptor;
  FILE* stream;
};

static SrStatus
refuse(const int reason, const char* const path, SrError* const error)
{
  SrStatus status;
  switch (reason) {
  case ENOENT:
  case ENOTDIR:
    status = sr_error_set(error, SR_NOT_FOUND,
                          "The folder to write into does not exist. Make it first, or name "
                          "another.");
    break;
  case EACCES:
  case EPERM:
  case EROFS:
    status = sr_error_set(error, SR_NO_PERMISSION,
                          "You are not allowed to write this file. Name another place.");
    break;
  case EISDIR:
    status = sr_error_set(error, SR_WRITE_FAILED, "This is a folder. Name a file in it.");
    break;
  case ENOMEM:
    status = sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to write the file.");
    break;
  default:
    status = sr_error_set(error, SR_WRITE_FAILED, "The file could not be written: %s.",
                          strerror(reason));
    break;
  }
  sr_error_place(error, path, 0, 0);
  return status;
}

static bool
is_same(const struct stat* const one, const struct stat* const other)
{
  return one->st_dev == other->st_dev && one->st_ino == other->st_ino;
}

SrStatus
sr_output_check(const char* const path, const char* const* const inputs, const size_t count,
                SrError* const error)
{
  struct stat written;
  if (stat(path, &written) || !S_ISREG(written.st_mode)) {
    return SR_OK;
  }
  for (size_t i = 0; i < count; ++i) {
    struct stat read;
    const bool there = inputs[i] && (strcmp(inputs[i], "-") != 0 ? !stat(inputs[i], &read)
                                                                 : !fstat(STDIN_FILENO, &read));
    if (there && is_same(&read, &written)) {
      sr_error_set(error, SR_BAD_ARGUMENT,
                   "This file is being read, so it is not overwritten. Name another file.");
      sr_error_place(error, path, 0, 0);
      return SR_BAD_ARGUMENT;
    }
  }
  return SR_OK;
}

/// The folder of a path; free it. NULL without memory.
static char*
folder_of(const char* const path)
{
  char* const copy = strdup(path);
  char* const folder = copy ? strdup(dirname(copy)) : NULL;
  free(copy);
  return folder;
}

/// Temporary name beside a path for try `number`; free it. NULL without memory.
static char*
name_beside(const char* const path, const unsigned number)
{
  char* const folder = folder_of(path);
  char* const copy = strdup(path);
  char* beside = NULL;
  if (folder && copy &&
      asprintf(&beside, "%s/.%.*s.%ld-%u.new", folder, NAME_PART, basename(copy), (long)getpid(),
               number) < 0) {
    beside = NULL;
  }
  free(copy);
  free(folder);
  return beside;
}

/// Open a file without a name (O_TMPFILE) in the folder of the target; -1 if not possible.
static int
open_nameless(const char* const target)
{
  // The file is later linked through this folder
  if (access("/proc/self/fd", X_OK)) {
    return -1;
  }
  char* const folder = folder_of(target);
  const int descriptor = folder ? open(folder, O_TMPFILE | O_RDWR | O_CLOEXEC, 0666) : -1;
  free(folder);
  return descriptor;
}

/// Open a temporary file with a new name beside the output; on failure errno tells why.
static void
open_beside(SrOutput* const output)
{
  for (unsigned i = 0; i < TRIED_NAMES && output->descriptor < 0; ++i) {
    free(output->beside);
    output->beside = name_beside(output->target, i);
    if (!output->beside) {
      errno = ENOMEM;
      return;
    }
    output->descriptor =
        open(output->beside, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (output->descriptor < 0 && errno != EEXIST) {
      break;
    }
  }
  if (output->descriptor < 0) {
    const int reason = errno;
    free(output->beside);
    output->beside = NULL;
    errno = reason;
  }
}

/// Open the output; on failure errno tells why.
static void
open_output(SrOutput* const output)
{
  struct stat older;
  const bool there = !stat(output->path, &older);
  if (there && !S_ISREG(older.st_mode)) {
    output->descriptor = open(output->path, O_WRONLY | O_CLOEXEC);
    return;
  }
  // /dev/stdout redirected to a file: the shell may append more to it
  for (int standard = STDOUT_FILENO; there && standard <= STDERR_FILENO; ++standard) {
    struct stat open;
    if (!fstat(standard, &open) && is_same(&open, &older)) {
      output->descriptor = fcntl(standard, F_DUPFD_CLOEXEC, 3);
      return;
    }
  }
  struct stat link;
  if (!there && !lstat(output->path, &link)) {
    return; // a dangling link
  }
  output->target = there ? realpath(output->path, NULL) : strdup(output->path);
  // Replacing needs only write permission on the folder, but respect a file made read-only
  if (!output->target || (there && access(output->target, W_OK))) {
    return;
  }
  output->descriptor = open_nameless(output->target);
  if (output->descriptor < 0) {
    open_beside(output);
  }
  if (output->descriptor >= 0 && there) {
    // Keeping owner and mode may not be permitted; write the file anyway
    (void)!fchown(output->descriptor, older.st_uid, older.st_gid);
    (void)!fchmod(output->descriptor, older.st_mode & 07777);
  }
}

SrStatus
sr_output_new(const char* const path, SrOutput** const output, SrError* const error)
{
  *output = NULL;
  SrOutput* const made = (SrOutput*)calloc(1, sizeof(SrOutput));
  if (!made) {
    return refuse(ENOMEM, path, error);
  }
  made->descriptor = -1;
  made->path = strdup(path);
  errno = ENOMEM;
  if (made->path) {
    open_output(made);
  }
  if (made->descriptor < 0) {
    const SrStatus status = refuse(errno, path, error);
    sr_output_del(made);
    return status;
  }
  *output = made;
  return SR_OK;
}

int
sr_output_descriptor(const SrOutput* const output)
{
  return output->descriptor;
}

FILE*
sr_output_stream(SrOutput* const output)
{
  if (!output->stream) {
    const int copy = fcntl(output->descriptor, F_DUPFD_CLOEXEC, 3);
    output->stream = copy < 0 ? NULL : fdopen(copy, "w");
    if (!output->stream && copy >= 0) {
      close(copy);
    }
  }
  return output->stream;
}

/// Give a file without a name a temporary one beside its target; on failure errno tells why.
static bool
give_name(SrOutput* const output)
{
  char own[64];
  snprintf(own, sizeof(own), "/proc/self/fd/%d", output->descriptor);
  for (unsigned i = 0; i < TRIED_NAMES; ++i) {
    char* const beside = name_beside(output->target, i);
    if (!beside) {
      errno = ENOMEM;
      return false;
    }
    if (!linkat(AT_FDCWD, own, AT_FDCWD, beside, AT_SYMLINK_FOLLOW)) {
      output->beside = beside;
      return true;
    }
    const int reason = errno;
    free(beside);
    errno = reason;
    if (reason != EEXIST) {
      return false;
    }
  }
  return false;
}

/// Flush to disk before replacing the older file; where that is unsupported it counts as done.
static bool
keep(const int descriptor)
{
  return !fsync(descriptor) || errno == EINVAL || errno == ENOTSUP || errno == EROFS;
}

SrStatus
sr_output_finish(SrOutput* const output, SrError* const error)
{
  errno = 0;
  bool done = true;
  if (output->stream) {
    done = !ferror(output->stream);
    const bool closed = !fclose(output->stream);
    done = done && closed;
    output->stream = NULL;
  }
  if (output->target) {
    done = done && keep(output->descriptor) && (output->beside || give_name(output)) &&
           !rename(output->beside, output->target);
  }
  const int reason = errno;
  if (done) {
    free(output->beside);
    output->beside = NULL;
  }
  const bool closed = !close(output->descriptor);
  output->descriptor = -1;
  if (done && closed) {
    return SR_OK;
  }
  const int why = done ? errno : reason;
  sr_error_set(error, SR_WRITE_FAILED, "The file could not be finished: %s.",
               why ? strerror(why) : "the disk or the reader refused it");
  sr_error_place(error, output->path, 0, 0);
  return SR_WRITE_FAILED;
}

void
sr_output_del(SrOutput* const output)
{
  if (!output) {
    return;
  }
  if (output->stream) {
    fclose(output->stream);
  }
  if (output->descriptor >= 0) {
    close(output->descriptor);
  }
  if (output->beside) {
    unlink(output->beside);
  }
  free(output->beside);
  free(output->target);
  free(output->path);
  free(output);
}

/// Whether everything was written; on failure errno tells why.
static bool
write_all(const int descriptor, const char* bytes, size_t size)
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
sr_output_write(const char* const path, const void* const bytes, const size_t size,
                SrError* const error)
{
  SrOutput* output = NULL;
  SrStatus status = sr_output_new(path, &output, error);
  if (output) {
    status = write_all(output->descriptor, (const char*)bytes, size)
                 ? sr_output_finish(output, error)
                 : refuse(errno, path, error);
  }
  sr_output_del(output);
  return status;
}
