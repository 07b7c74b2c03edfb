// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_HELP_LINE_H
#define SR_APP_HELP_LINE_H

#include "help.h"

#include <stdbool.h>
#include <stddef.h>

/// Kinds of line in a help text; see help.h.
typedef enum {
  SR_HELP_BLANK,
  SR_HELP_PARAGRAPH, ///< Text, perhaps indented
  SR_HELP_TERM,      ///< A term and its meaning
  SR_HELP_COMMAND,   ///< An example
} SrHelpKind;

typedef struct {
  SrHelpKind kind;
  const char* text; ///< The whole line, or the term with the spaces around it
  size_t size;      ///< Bytes of it
  const char* meaning;
  size_t meaning_size; ///< 0 except for a term
} SrHelpLine;

/**
   Read the next line of a help text.

   @param rest Start of the line; moved past it.
   @return False at the end.
*/
bool sr_help_line(const char** rest, SrHelpLine* line);
/// The same for a command's whole help. `rest` is its text at first.
bool sr_help_next_line(const SrHelp* help, const char** rest, SrHelpLine* line);

#endif // SR_APP_HELP_LINE_H
