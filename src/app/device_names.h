// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_DEVICE_NAMES_H
#define SR_APP_DEVICE_NAMES_H

#include <steadyreed/status.h>

/// Put the names of the devices there are behind a sentence that one was not found.
void sr_name_devices(SrError* error);

#endif // SR_APP_DEVICE_NAMES_H
