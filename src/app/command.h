// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_APP_COMMAND_H
#define SR_APP_COMMAND_H

/// Exit statuses.
enum {
  SR_EXIT_DONE = 0,
  SR_EXIT_NOT_JUDGED = 1, ///< The take or phrase could not be judged, or the output not written
  SR_EXIT_WRONG_USAGE = 2,
  SR_EXIT_DEVICE = 3,
};

// Each command takes its own name as arguments[0] and returns an exit status.

int sr_command_assess(int count, char** arguments);
int sr_command_beside(int count, char** arguments);
int sr_command_help(int count, char** arguments);
int sr_command_class(int count, char** arguments);
int sr_command_practise(int count, char** arguments);
int sr_command_plan(int count, char** arguments);
int sr_command_progress(int count, char** arguments);
int sr_command_setup(int count, char** arguments);
int sr_command_sound(int count, char** arguments);
int sr_command_demo(int count, char** arguments);
int sr_command_today(int count, char** arguments);
int sr_command_drill(int count, char** arguments);
int sr_command_transcribe(int count, char** arguments);

#endif // SR_APP_COMMAND_H
