// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file quiet.h
   Redirects standard error to nowhere, because PortAudio's threads write internal messages to it
   when a device is lost.
*/

#ifndef SR_APP_QUIET_H
#define SR_APP_QUIET_H

#include <stdbool.h>

/// Redirect standard error; does nothing if it is already redirected.
void sr_quiet_begin(void);
/// Restore standard error; whether it was redirected.
bool sr_quiet_end(void);

#endif // SR_APP_QUIET_H
