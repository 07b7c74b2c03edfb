// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file hands_free.h
   Keys and system signals during practice: what ends or interrupts it, and what a pedal asks for;
   and restoring the terminal in every case.
*/

#ifndef SR_APP_HANDS_FREE_H
#define SR_APP_HANDS_FREE_H

#include "keys.h"

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
/// Whether a key asked to go on to the next of several sessions, since this was last asked.
bool sr_hands_free_next(void);
/// The next thing asked for by a key, other than these; SR_JOB_NONE if there is none.
SrJob sr_hands_free_job(void);

#endif // SR_APP_HANDS_FREE_H
