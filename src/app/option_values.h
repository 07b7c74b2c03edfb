// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_OPTION_VALUES_H
#define SR_APP_OPTION_VALUES_H

#include <steadyreed/phrase.h>

#include <stdbool.h>

/// Parse a whole text as a decimal number from `least` to `most`; false if it is not one.
bool sr_value_number(const char* text, double least, double most, double* value);

/// Parse a whole text as an integer from `least` to `most`; false if it is not one.
bool sr_value_integer(const char* text, int least, int most, int* value);

/// Parse a note such as C3, F#4, B♭2 or 48 to its MIDI number; false if it is not one from `least`
/// to `most`. Middle C is C4.
bool sr_value_note(const char* text, int least, int most, int* midi);

/// Parse "3" or "1-4" as bars; false if it is neither, or descending.
bool sr_value_bars(const char* text, int* first, int* last);

/// A stretch of a recording, seconds.
typedef struct {
  double from_s;
  double to_s; ///< INFINITY for its end
} SrTimes;

/// Parse "12", "12.5", "0:12" or "1:02:03.5" as seconds; false if it is none of these.
bool sr_value_time(const char* text, double* seconds);

/// Slowest and fastest tempo accepted, pulses a minute.
#define SR_LOWEST_TEMPO 20.0
#define SR_HIGHEST_TEMPO 300.0

// Options shared by several commands. Each reports errors and returns SR_EXIT_WRONG_USAGE, or 0.

int sr_option_bars(const char* command, const char* text, SrPhraseChoice* choice);
int sr_option_part(const char* command, const char* text, SrPhraseChoice* choice);
int sr_option_tune(const char* command, const char* text, SrPhraseChoice* choice);
int sr_option_transpose(const char* command, const char* text, SrPhraseChoice* choice);
/// --from (`last` false) or --to.
int sr_option_time(const char* command, bool last, const char* text, SrTimes* times);
int sr_option_number(const char* command, const char* option, const char* unit, const char* text,
                     double least, double most, double* value);

/// A whole number from `least` to `most`.
int sr_option_count(const char* command, const char* option, int least, int most, const char* text,
                    unsigned* count);
/// A note that the program listens for, or none, which is -1.
int sr_option_note(const char* command, const char* option, const char* text, int* midi);
/// --click-volume, as a share.
int sr_option_click_volume(const char* command, const char* text, double* share);
/// --speak; refused if this build cannot.
int sr_option_speak(const char* command, bool* speak);

#endif // SR_APP_OPTION_VALUES_H
