// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_SAY_H
#define SR_APP_SAY_H

#include <steadyreed/show.h>
#include <steadyreed/status.h>

/// Write `steadyreed: file:line:column: message` to standard error, control characters as '?'.
void sr_say_error(const SrError* error);

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

/// Layout for a stream: colours on a terminal unless NO_COLOR is set, UTF-8 if the locale has it.
SrShowStyle sr_say_style(FILE* stream);

/// Make sure that all is written; says so if not. 0, or SR_EXIT_NOT_JUDGED.
int sr_say_flush(FILE* stream, const char* name);

#endif // SR_APP_SAY_H
