// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file quiet.h
   PortAudio's threads write about their insides to standard error when a device goes. While it is
   quiet that leads nowhere.
*/

#ifndef SR_APP_QUIET_H
#define SR_APP_QUIET_H

#include <stdbool.h>

/// Let standard error lead nowhere; nothing if it does already.
void sr_quiet_begin(void);
/// Give standard error back; whether it had led nowhere.
bool sr_quiet_end(void);

#endif // SR_APP_QUIET_H
