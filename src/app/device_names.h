// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_DEVICE_NAMES_H
#define SR_APP_DEVICE_NAMES_H

#include <steadyreed/status.h>

/// Append the names of the available devices to the message that one was not found.
void sr_name_devices(SrError* error);

/// List the devices on standard output. Returns an exit status.
int sr_list_devices(void);

#endif // SR_APP_DEVICE_NAMES_H
