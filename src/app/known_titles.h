// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_KNOWN_TITLES_H
#define SR_APP_KNOWN_TITLES_H

#include <steadyreed/history.h>

/// Say which titles the history knows, the last played first, for one who mistyped one.
void sr_known_titles_say(SrHistory* history);

#endif // SR_APP_KNOWN_TITLES_H
