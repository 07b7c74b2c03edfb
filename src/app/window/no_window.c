// SPDX-License-Identifier: GPL-3.0-or-later

// A build without a window.

#include "window_app.h"

#include "../command.h"

bool
sr_window_can_open(void)
{
  return false;
}

int
sr_window_run(const SrWindowStart* const start)
{
  (void)start;
  return SR_EXIT_NOT_JUDGED;
}
