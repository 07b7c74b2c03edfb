// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hands_free.h
   How practice is ended or interrupted: keys, signals of the system, and the terminal put back as
   it was whatever happens.
*/

#ifndef SR_APP_HANDS_FREE_H
#define SR_APP_HANDS_FREE_H

#include <stdbool.h>

/// From now on Ctrl-C and its like only ask for an end, and keys need no Return if standard input
/// is a terminal.
void sr_hands_free_begin(void);
/// The same, but the keys stay as they are.
void sr_signals_begin(void);
/// Put everything back.
void sr_hands_free_end(void);
/// Ask for an end.
void sr_hands_free_ask(void);
/// Whether an end was asked for: by Escape, q, Ctrl-C, hanging up or the system.
bool sr_hands_free_asked(void);

#endif // SR_APP_HANDS_FREE_H
