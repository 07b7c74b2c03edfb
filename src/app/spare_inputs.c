// SPDX-License-Identifier: GPL-3.0-or-later

#include "spare_inputs.h"

#include "command.h"
#include "say.h"

#include <steadyreed/layout.h>
#include <steadyreed/output.h>

#include <stdlib.h>
#include <sys/stat.h>

SrStatus
sr_spare_inputs(const char* const written, const char* const layout, const char* const* const read,
                const size_t count, SrError* const error)
{
  if (!written) {
    return SR_OK;
  }
  char* const place = layout ? sr_layout_place(layout) : NULL;
  const char* const places[] = {place};
  SrStatus status = sr_output_check(written, read, count, error);
  if (status == SR_OK) {
    status = sr_output_check(written, places, 1, error);
  }
  free(place);
  return status;
}

int
sr_spare_inputs_or_say(const char* const written, const char* const layout,
                       const char* const* const read, const size_t count)
{
  SrError error = {0};
  if (sr_spare_inputs(written, layout, read, count, &error) == SR_OK) {
    return SR_EXIT_DONE;
  }
  sr_say_error(&error);
  return SR_EXIT_WRONG_USAGE;
}

int
sr_new_file_or_say(const char* const written, const bool force)
{
  struct stat status;
  // A device, such as /dev/stdout, loses nothing; a folder is refused where it is opened
  if (!written || force || stat(written, &status) || !S_ISREG(status.st_mode)) {
    return SR_EXIT_DONE;
  }
  SrError error;
  sr_error_set(&error, SR_EXISTS,
               "This file exists, and is left as it is. --force writes over it.");
  sr_error_place(&error, written, 0, 0);
  sr_say_error(&error);
  return SR_EXIT_NOT_JUDGED;
}
