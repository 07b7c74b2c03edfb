// SPDX-License-Identifier: GPL-3.0-or-later

#include "device_options.h"

#include "option_values.h"

int
sr_device_option(const char* const command, const int option, const char* const text,
                 SrStreamSettings* const stream)
{
  unsigned channel = 0;
  int trouble = 0;
  if (option == SR_OPTION_INPUT) {
    stream->input = text;
  } else if (option == SR_OPTION_OUTPUT) {
    stream->output = text;
  } else {
    trouble = sr_option_count(command, "--channel", 1, 256, text, &channel);
    stream->channel = (int)channel;
  }
  return trouble;
}
