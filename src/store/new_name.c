// SPDX-License-Identifier: GPL-3.0-or-later

#include "new_name.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <unistd.h>

int
sr_new_name_without_links(const char* const written, const char* const name)
{
  const int descriptor = open(name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (descriptor < 0) {
    return errno;
  }
  (void)close(descriptor);
  if (!rename(written, name)) {
    return 0;
  }
  const int reason = errno;
  (void)unlink(name);
  return reason;
}

int
sr_new_name(const char* const written, const char* const name)
{
  // Unlike rename() this never replaces a file
  const int reason = link(written, name) ? errno : 0;
  const bool cannot =
      reason == EPERM || reason == EOPNOTSUPP || reason == ENOSYS || reason == EMLINK;
  return cannot ? sr_new_name_without_links(written, name) : reason;
}
