// SPDX-License-Identifier: GPL-3.0-or-later

// Where the player's data is kept.

#ifndef SR_STORE_DATA_FOLDER_H
#define SR_STORE_DATA_FOLDER_H

#include <steadyreed/status.h>

#include <stdbool.h>

/**
   A folder of the player's data: $XDG_DATA_HOME/steadyreed or ~/.local/share/steadyreed, or one in
   it. Relative or empty variables count as unset.

   @param inner  Name of a folder in it, such as "takes"; NULL for itself.
   @param what   For errors, such as "takes".
   @param make   Create it with its parents, for the owner only (mode 0700), and see that files can
                 be made in it; an existing one keeps its mode.
   @param folder Receives its path; free() it. NULL on error.
   @return SR_OK, SR_NOT_FOUND (no home), SR_NO_PERMISSION, SR_WRITE_FAILED or SR_NO_MEMORY.
*/
SrStatus sr_data_folder(const char* inner, const char* what, bool make, char** folder,
                        SrError* error);

#endif // SR_STORE_DATA_FOLDER_H
