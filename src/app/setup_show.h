// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_SETUP_SHOW_H
#define SR_APP_SETUP_SHOW_H

#include <steadyreed/setup.h>

/// Show what was measured, and the instrument and style that plans are for, on standard output.
void sr_setup_show(const SrSetup* setup);

#endif // SR_APP_SETUP_SHOW_H
