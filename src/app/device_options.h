// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file device_options.h
   --input, --output and --channel, of all commands that listen.
*/

#ifndef SR_APP_DEVICE_OPTIONS_H
#define SR_APP_DEVICE_OPTIONS_H

#include <steadyreed/stream.h>

/// Values of these options for getopt_long(), apart from those of any command.
enum {
  SR_OPTION_INPUT = 1280,
  SR_OPTION_OUTPUT,
  SR_OPTION_CHANNEL,
};

/// Read one. 0, or an exit status.
int sr_device_option(const char* command, int option, const char* text, SrStreamSettings* stream);

#endif // SR_APP_DEVICE_OPTIONS_H
