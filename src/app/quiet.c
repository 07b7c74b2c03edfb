// SPDX-License-Identifier: GPL-3.0-or-later

#include "quiet.h"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

// Global, as standard error is
static int kept = -1;

void
sr_quiet_begin(void)
{
  if (kept >= 0) {
    return;
  }
  fflush(stderr);
  kept = fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 3);
  const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
  if (kept >= 0 && nowhere >= 0) {
    dup2(nowhere, STDERR_FILENO);
  }
  if (nowhere >= 0) {
    close(nowhere);
  }
}

bool
sr_quiet_end(void)
{
  if (kept < 0) {
    return false;
  }
  fflush(stderr);
  dup2(kept, STDERR_FILENO);
  close(kept);
  kept = -1;
  return true;
}
