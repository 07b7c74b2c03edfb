// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_SAY_H
#define SR_APP_SAY_H

#include <steadyreed/setup.h>
#include <steadyreed/show.h>
#include <steadyreed/status.h>

#include <stdarg.h>
#include <stdbool.h>

/// Current width of a stream's terminal, at least 20; 0 if there is no terminal or it does not
/// report its width.
size_t sr_say_columns(FILE* stream);

/**
   Write text that may come from outside; see sr_show_safe(). Line feeds are kept. On a terminal
   each line is broken between words, with further lines indented by two more; otherwise it is left
   as it is.
*/
void sr_say_text(FILE* stream, const char* text);
/// … with a printf() format.
void sr_say_format(FILE* stream, const char* format, ...) SR_PRINTF(2, 3);
/// … with a vprintf() format.
void sr_say_arguments(FILE* stream, const char* format, va_list arguments) SR_PRINTF(2, 0);
/// … with a given indent of further lines; the final line feed is added.
void sr_say_indented(FILE* stream, size_t indent, const char* format, ...) SR_PRINTF(3, 4);
/// … as a paragraph, also broken without a terminal, at 80 columns.
void sr_say_paragraph(FILE* stream, size_t indent, const char* text);
/// … as a command to copy, broken like a paragraph: a line that is continued ends in a backslash.
void sr_say_command(FILE* stream, const char* format, ...) SR_PRINTF(2, 3);

/**
   Write ABC notation. A line too long for the terminal is broken so that it stays the same
   notation: a field continues with "+:", a comment with "%", music after a bar line or a space, or
   else with a backslash before a grace or an annotation.

   @param indent Spaces before each line; not 0 if the text is only for reading.
*/
void sr_say_abc(FILE* stream, const char* text, size_t indent);

/// Write a help text, laid out for the terminal or for 80 columns; see help.h.
void sr_say_help(FILE* stream, const char* text);

/// Write `steadyreed: file:line:column: message` to standard error, control characters as '?'.
void sr_say_error(const SrError* error);

/// Write a line to standard error, control characters as '?'.
void sr_say_line(const char* text);

/// Say why a take could not be judged, and what else was noted about its recording.
void sr_say_refusal(const SrShownTake* take);

/**
   Write `steadyreed COMMAND: sentence` and where help is to standard error.

   @param command Name of the command, "" for the program itself.
   @return SR_EXIT_WRONG_USAGE.
*/
int sr_say_usage(const char* command, const char* format, ...) SR_PRINTF(2, 3);

/// Report an error of getopt_long(): `option` is what it returned, '?' or ':'. Returns
/// SR_EXIT_WRONG_USAGE.
int sr_say_bad_option(const char* command, int option, int short_option, const char* argument);

/// sr_setup_read(), with any error reported.
void sr_setup_read_or_say(SrSetup* setup);

/// Style for a stream: colours on a terminal unless NO_COLOR is set, UTF-8 if the locale has it,
/// the current columns.
SrShowStyle sr_say_style(FILE* stream);

/**
   Whether a write failed because the reader of our output left, as `head` does, which is not an
   error.
*/
bool sr_say_reader_left(FILE* stream);

/// Flush a stream; an error is reported unless the reader left. 0, or SR_EXIT_NOT_JUDGED.
int sr_say_flush(FILE* stream, const char* name);

#endif // SR_APP_SAY_H
