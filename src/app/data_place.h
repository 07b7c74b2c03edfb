// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_DATA_PLACE_H
#define SR_APP_DATA_PLACE_H

#include <steadyreed/status.h>

/**
   Find a shipped file.

   Looked for in this order: $STEADYREED_DATA if it is set (and nowhere else
   then); beside the program as installed; where it was to be installed; the
   source tree, if the program still lies in its build folder.

   @param name   Name in the installed data folder, such as "takes/demo.flac".
   @param path   Receives its path; free() it. NULL on error.
   @return SR_OK, SR_NOT_FOUND or SR_NO_MEMORY.
*/
SrStatus sr_data_place(const char* name, char** path, SrError* error);

#endif // SR_APP_DATA_PLACE_H
