// SPDX-License-Identifier: GPL-3.0-or-later

#include "command.h"
#include "help.h"
#include "say.h"

#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>

static const struct {
  const char* name;
  int (*run)(int count, char** arguments);
} commands[] = {
    {"plan", sr_command_plan},   {"practise", sr_command_practise},
    {"setup", sr_command_setup}, {"assess", sr_command_assess},
    {"sound", sr_command_sound}, {"drill", sr_command_drill},
    {"demo", sr_command_demo},   {"progress", sr_command_progress},
    {"class", sr_command_class}, {"transcribe", sr_command_transcribe},
    {"today", sr_command_today}, {"beside", sr_command_beside},
    {"help", sr_command_help},
};

#define COMMAND_COUNT (sizeof(commands) / sizeof(commands[0]))

int
main(const int count, char** const arguments)
{
  // Use the locale's character set only; numbers keep the decimal point
  setlocale(LC_CTYPE, "");
  // A reader of our output may leave; a recording in progress must not end with it
  signal(SIGPIPE, SIG_IGN);
  // Reaching the file size limit is then reported like a full disk
  signal(SIGXFSZ, SIG_IGN);

  if (count < 2) {
    return sr_say_usage(
        "", "name a command: demo, drill, sound, plan, practise, today, progress, beside, assess, "
            "class, transcribe or setup. "
            "`steadyreed demo` is a good place to start.");
  }
  const char* const first = arguments[1];
  if (!strcmp(first, "--help") || !strcmp(first, "-h")) {
    sr_say_help(stdout, sr_help_program);
    return sr_say_flush(stdout, "standard output");
  }
  if (!strcmp(first, "--version")) {
    sr_say_text(stdout, "steadyreed " SR_VERSION "\n"
                        "Free software under the GNU General Public License, version 3 or later.\n"
                        "There is no warranty, as far as the law permits.\n");
    return sr_say_flush(stdout, "standard output");
  }
  for (size_t i = 0; i < COMMAND_COUNT; ++i) {
    if (!strcmp(first, commands[i].name)) {
      return commands[i].run(count - 1, arguments + 1);
    }
  }
  if (first[0] == '-') {
    return sr_say_usage(
        "",
        "there is no option %s; a command comes first: demo, drill, sound, "
        "plan, practise, today, progress, beside, assess, class, transcribe or setup.",
        first);
  }
  if (!strcmp(first, "practice")) {
    return sr_say_usage("", "the command is spelt \"practise\".");
  }
  return sr_say_usage("",
                      "there is no command \"%s\"; there are demo, drill, sound, plan, practise, "
                      "today, progress, beside, assess, class, transcribe and setup.",
                      first);
}
