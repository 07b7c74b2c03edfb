// SPDX-License-Identifier: GPL-3.0-or-later

#include "quiet_libraries.h"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

int
sr_hush_begin(void)
{
  fflush(stderr);
  const int kept = fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 3);
  const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
  if (kept < 0 || nowhere < 0) {
    if (nowhere >= 0) {
      close(nowhere);
    }
    if (kept >= 0) {
      close(kept);
    }
    return -1;
  }
  dup2(nowhere, STDERR_FILENO);
  close(nowhere);
  return kept;
}

void
sr_hush_end(const int kept)
{
  if (kept >= 0) {
    fflush(stderr);
    dup2(kept, STDERR_FILENO);
    close(kept);
  }
}
