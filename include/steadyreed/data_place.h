// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file data_place.h
   Where the files that come with the program are.
*/

#ifndef STEADYREED_DATA_PLACE_H
#define STEADYREED_DATA_PLACE_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

SR_BEGIN_DECLARATIONS

/**
   Find a shipped file. Searched in this order: $STEADYREED_DATA (if set, nowhere else); relative to
   the installed program; the source tree, if the program is in its build folder; the configured
   install folder.

   @param name   Name in the installed data folder, such as "takes/demo.flac".
   @param path   Receives its path; free() it. NULL on error.
   @return SR_OK, SR_NOT_FOUND or SR_NO_MEMORY.
*/
SrStatus sr_data_place(const char* name, char** path, SrError* error);

SR_END_DECLARATIONS

#endif // STEADYREED_DATA_PLACE_H
