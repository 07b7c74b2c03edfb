// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_CONFIG_FOLDER_H
#define SR_APP_CONFIG_FOLDER_H

#include <stdbool.h>

/**
   The player's own folder, `~/.config/steadyreed` or its like.

   @param make Make it if it is not there.
   @return Its path; free() it. NULL without a home or memory.
*/
char* sr_config_folder(bool make);

#endif // SR_APP_CONFIG_FOLDER_H
