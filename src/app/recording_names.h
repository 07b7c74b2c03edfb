// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_RECORDING_NAMES_H
#define SR_APP_RECORDING_NAMES_H

#include <stdbool.h>

/// Whether a name has the extension of a recording, in any case.
bool sr_names_recording(const char* path);

#endif // SR_APP_RECORDING_NAMES_H
