// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_SAY_H
#define SR_APP_SAY_H

#include <steadyreed/setup.h>
#include <steadyreed/show.h>
#include <steadyreed/status.h>

#include <stdarg.h>

/// Columns of the terminal that a stream writes to, as it is now and 20 at least; 0 if it writes to
/// none, or that has not told.
size_t sr_say_columns(FILE* stream);

/**
   Write text that may come from outside; see sr_show_safe().

   Line feeds stay. On a terminal each line is broken between words, further ones indented by two
   more than it; else it stays as it is.
*/
void sr_say_text(FILE* stream, const char* text);
/// … after putting it together as printf() does.
void sr_say_format(FILE* stream, const char* format, ...) SR_PRINTF(2, 3);
/// … as vprintf() does.
void sr_say_arguments(FILE* stream, const char* format, va_list arguments) SR_PRINTF(2, 0);
/// … with another indent of further lines, and without the line feed at its end, which is written.
void sr_say_indented(FILE* stream, size_t indent, const char* format, ...) SR_PRINTF(3, 4);
/// … a paragraph: without a terminal it is broken as well, at 80 columns.
void sr_say_paragraph(FILE* stream, size_t indent, const char* text);
/// … a command to be copied, broken as a paragraph: a line that goes on ends in a backslash.
void sr_say_command(FILE* stream, const char* format, ...) SR_PRINTF(2, 3);

/**
   Write ABC notation. A line that is too long for a terminal goes on so that it stays the same
   notation: a field with "+:", a comment with "%", music behind a bar line or a space, or else with
   a backslash before a grace or an annotation.

   @param indent Spaces before each line; with them it is to be looked at only.
*/
void sr_say_abc(FILE* stream, const char* text, size_t indent);

/**
   Write a help text, laid out for the terminal, or for 80 columns; see help.h.
*/
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

/// Tell getopt_long()'s complaint: `option` is what it returned, '?' or ':'. Returns
/// SR_EXIT_WRONG_USAGE.
int sr_say_bad_option(const char* command, int option, int short_option, const char* argument);

/// Read what `setup` kept, as sr_setup_read(), and tell what is wrong with it, if something is.
void sr_setup_read_or_say(SrSetup* setup);

/// Layout for a stream: colours on a terminal unless NO_COLOR is set, UTF-8 if the locale has it,
/// columns as they are now.
SrShowStyle sr_say_style(FILE* stream);

/// Whether a write failed because who read our output has gone, as `head` does: nobody's fault.
bool sr_say_reader_left(FILE* stream);

/// Make sure that all is written; says so if not, unless the reader left. 0, or SR_EXIT_NOT_JUDGED.
int sr_say_flush(FILE* stream, const char* name);

#endif // SR_APP_SAY_H
