// SPDX-License-Identifier: GPL-3.0-or-later

// `steadyreed help`, of a command or a topic of the manual page.

#include "command.h"
#include "help.h"
#include "say.h"

#include <stdio.h>
#include <string.h>

/// Longest name of a topic that is looked for, bytes.
#define MOST_NAME 64
/// Shortest part of one.
#define LEAST_NAME 3u

static const SrHelp*
find_command(const char* const name)
{
  for (size_t i = 1; i < SR_HELP_COUNT; ++i) {
    if (!strcmp(sr_helps[i].command, name)) {
      return &sr_helps[i];
    }
  }
  return NULL;
}

/// Find a topic by its heading or a part of that, such as "window" or "measured".
static const SrHelp*
find_topic(const char* const name)
{
  for (size_t i = 0; i < SR_HELP_TOPIC_COUNT; ++i) {
    if (!strcasecmp(sr_help_topics[i].command, name)) {
      return &sr_help_topics[i];
    }
  }
  for (size_t i = 0; i < SR_HELP_TOPIC_COUNT && strlen(name) >= LEAST_NAME; ++i) {
    if (strcasestr(sr_help_topics[i].command, name)) {
      return &sr_help_topics[i];
    }
  }
  return NULL;
}

/// All topics: "the window, phrases, ... and files".
static void
list_topics(char* const words, const size_t size)
{
  words[0] = '\0';
  for (size_t i = 0; i < SR_HELP_TOPIC_COUNT; ++i) {
    const size_t length = strlen(words);
    snprintf(words + length, size - length, "%s%s",
             i == 0                        ? ""
             : i + 1 < SR_HELP_TOPIC_COUNT ? ", "
                                           : " and ",
             sr_help_topics[i].command);
  }
}

static void
say_all(const SrHelp* const help)
{
  sr_say_help(stdout, help->text);
  sr_say_help(stdout, help->more);
}

int
sr_command_help(const int count, char** const arguments)
{
  char topics[512];
  char name[MOST_NAME] = "";
  list_topics(topics, sizeof(topics));
  for (int i = 1; i < count; ++i) {
    const size_t length = strlen(name);
    snprintf(name + length, sizeof(name) - length, "%s%s", i > 1 ? " " : "", arguments[i]);
  }
  const SrHelp* const command = find_command(name);
  const SrHelp* const help = command ? command : find_topic(name);
  if (!*name) {
    say_all(&sr_helps[0]);
    sr_say_text(stdout, "\n");
    sr_say_indented(stdout, 0, "`steadyreed help TOPIC` shows a part of the manual: %s.", topics);
  } else if (help) {
    say_all(help);
  } else if (!strcmp(name, "practice")) {
    return sr_say_usage("", "the command is spelt \"practise\".");
  } else {
    return sr_say_usage("", "there is no help on \"%s\"; there is on each command, and on %s.",
                        name, topics);
  }
  return sr_say_flush(stdout, "standard output");
}
