// SPDX-License-Identifier: GPL-3.0-or-later

#include "device_names.h"

#include <steadyreed/stream.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Append words to a message as far as there is room.
static void
append(SrError* const error, const char* const words)
{
  const size_t length = strlen(error->message);
  snprintf(error->message + length, sizeof(error->message) - length, "%s", words);
}

void
sr_name_devices(SrError* const error)
{
  SrDevice* devices = NULL;
  size_t count = 0;
  if (sr_devices_list(&devices, &count, NULL) != SR_OK || count == 0) {
    free(devices);
    return;
  }
  append(error, " Devices here: ");
  for (size_t i = 0; i < count; ++i) {
    append(error, i ? ", " : "");
    append(error, devices[i].name);
  }
  append(error, ".");
  free(devices);
}
