// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file help.h
   The text of `--help`, also used for the manual page and shell completion. Plain ASCII.

   Each line is a paragraph. In a line with a tab, what precedes the tab is a term, padded with
   spaces to the column where its meaning begins and continues. A line that begins with "
   steadyreed " is a command. A short one that ends in a colon is a heading.
*/

#ifndef SR_APP_HELP_H
#define SR_APP_HELP_H

extern const char sr_help_program[];
extern const char sr_help_assess[];
extern const char sr_help_beside[];
extern const char sr_help_class[];
extern const char sr_help_practise[];
extern const char sr_help_practise_more[];
extern const char sr_help_progress[];
extern const char sr_help_today[];
extern const char sr_help_plan[];
extern const char sr_help_setup[];
extern const char sr_help_sound[];
extern const char sr_help_demo[];
extern const char sr_help_drill[];
extern const char sr_help_transcribe[];

/// The help of a command.
typedef struct {
  const char* command; ///< "" for the program itself
  const char* text;
  const char*
      more; ///< The rest of the text; "" for most. ISO C assures 4095 characters in a string
} SrHelp;

#define SR_HELP_COUNT 13

/// All help texts, the program's first.
extern const SrHelp sr_helps[SR_HELP_COUNT];

#define SR_HELP_TOPIC_COUNT 10

/// What only the manual page has: in place of the command stands a heading.
extern const SrHelp sr_help_topics[SR_HELP_TOPIC_COUNT];

#endif // SR_APP_HELP_H
