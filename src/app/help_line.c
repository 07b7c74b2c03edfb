// SPDX-License-Identifier: GPL-3.0-or-later

#include "help_line.h"

#include <string.h>

bool
sr_help_line(const char** const rest, SrHelpLine* const line)
{
  static const char command[] = "  steadyreed ";
  const char* const text = *rest;
  if (!*text) {
    return false;
  }
  const size_t size = strcspn(text, "\n");
  const size_t term = strcspn(text, "\t\n");
  *line = (SrHelpLine){SR_HELP_PARAGRAPH, text, size, text + size, 0};
  if (size == 0) {
    line->kind = SR_HELP_BLANK;
  } else if (term < size) {
    *line = (SrHelpLine){SR_HELP_TERM, text, term, text + term + 1, size - term - 1};
  } else if (!strncmp(text, command, strlen(command))) {
    line->kind = SR_HELP_COMMAND;
  }
  *rest = text + size + (text[size] == '\n');
  return true;
}

bool
sr_help_next_line(const SrHelp* const help, const char** const rest, SrHelpLine* const line)
{
  if (*rest == help->text + strlen(help->text)) {
    *rest = help->more;
  }
  return sr_help_line(rest, line);
}
