// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hands_free.h
   Ending or interrupting practice by keys and system signals, and restoring the terminal in every
   case.
*/

#ifndef SR_APP_HANDS_FREE_H
#define SR_APP_HANDS_FREE_H

#include <stdbool.h>

/// From now on Ctrl-C and the like only request an end, and if standard input is a terminal keys
/// need no Return.
void sr_hands_free_begin(void);
/// The same for signals only, leaving the keys unchanged.
void sr_signals_begin(void);
/// Restore everything.
void sr_hands_free_end(void);
void sr_hands_free_ask(void);
/// Whether an end was requested: by Escape, q, Ctrl-C, hangup or the system.
bool sr_hands_free_asked(void);

#endif // SR_APP_HANDS_FREE_H
