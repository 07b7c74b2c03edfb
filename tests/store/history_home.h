// SPDX-License-Identifier: GPL-3.0-or-later

// A place for a history of a test's own, and what is in it.

#ifndef SR_TESTS_HISTORY_HOME_H
#define SR_TESTS_HISTORY_HOME_H

#include <steadyreed/history.h>

/// A place for a history of a test's own.
typedef struct {
  char* data;   ///< $XDG_DATA_HOME
  char* folder; ///< Ours in it, not made yet
  char* path;   ///< Of the history
} MadeHome;

/// Make one, and have it used from now on.
MadeHome made_home(void);
void made_home_remove(MadeHome* home);
/// Open the history there, to record in it; cmocka fails if it cannot be opened.
SrHistory* made_history_open(void);
/// All rounds in a history.
size_t made_round_count(SrHistory* history);

#endif // SR_TESTS_HISTORY_HOME_H
