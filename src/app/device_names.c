// SPDX-License-Identifier: GPL-3.0-or-later

#include "device_names.h"

#include "command.h"
#include "say.h"

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

int
sr_list_devices(void)
{
  SrDevice* devices = NULL;
  size_t count = 0;
  SrError error = {0};
  if (sr_devices_list(&devices, &count, &error) != SR_OK) {
    sr_say_error(&error);
    return SR_EXIT_DEVICE;
  }
  if (count == 0) {
    sr_say_text(stdout, "No sound device was found on this computer.\n");
  }
  for (size_t i = 0; i < count; ++i) {
    const SrDevice* const device = &devices[i];
    sr_say_indented(stdout, 5, "%3d  %s (%s): %d in%s, %d out%s, %.0f Hz", device->number,
                    device->name, device->system, device->inputs,
                    device->usual_input ? " (usual)" : "", device->outputs,
                    device->usual_output ? " (usual)" : "", device->rate_hz);
  }
  free(devices);
  return sr_say_flush(stdout, "standard output");
}
