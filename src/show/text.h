// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_SHOW_TEXT_H
#define SR_SHOW_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A copy with U+FFFD for invalid UTF-8; NULL without memory. Free it.
char* sr_text_valid(const char* bytes);

/**
   A copy safe for a terminal: valid UTF-8, control characters as '?'; without `unicode`, our own
   signs in ASCII and other characters as '?'. NULL without memory. Free it.
*/
char* sr_text_terminal(const char* bytes, bool unicode);

/// "F♯5" for a MIDI number, or "G♭5" with `flats`; size of `name` at least 12.
const char* sr_text_midi_name(int midi, bool flats, char* name);

/// "0:05.1" (minutes, seconds, tenths) for seconds; size of `clock` at least 32.
const char* sr_text_clock(double seconds, char* clock);

#endif // SR_SHOW_TEXT_H
