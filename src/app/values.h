// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_VALUES_H
#define SR_APP_VALUES_H

#include <steadyreed/phrase.h>

#include <stdbool.h>

/// Read a whole text as a number with a point, from `least` to `most`; false if it is none.
bool sr_value_number(const char* text, double least, double most, double* value);

/// Read a whole text as a whole number from `least` to `most`; false if it is none.
bool sr_value_integer(const char* text, int least, int most, int* value);

/// Read a note such as C3, F#4, B♭2 or 48, its MIDI number; false if it is none from `least` to
/// `most`. The middle C is C4.
bool sr_value_note(const char* text, int least, int most, int* midi);

/// Read "3" or "1-4" as bars; false if it is neither, or goes backwards.
bool sr_value_bars(const char* text, int* first, int* last);

/// Slowest and fastest tempo taken, pulses a minute.
#define SR_LOWEST_TEMPO 20.0
#define SR_HIGHEST_TEMPO 300.0

// Options that more than one command has. Each says what is wrong and returns
// SR_EXIT_WRONG_USAGE, or 0.

int sr_option_bars(const char* command, const char* text, SrPhraseChoice* choice);
int sr_option_part(const char* command, const char* text, SrPhraseChoice* choice);
int sr_option_tune(const char* command, const char* text, SrPhraseChoice* choice);
int sr_option_transpose(const char* command, const char* text, SrPhraseChoice* choice);
int sr_option_number(const char* command, const char* option, const char* unit, const char* text,
                     double least, double most, double* value);

#endif // SR_APP_VALUES_H
