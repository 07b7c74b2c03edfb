// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_RUN_PROGRAM_H
#define SR_TESTS_RUN_PROGRAM_H

#include <sys/resource.h>

/// What a program left behind.
typedef struct {
  int status;          ///< Exit status, or -1 if a signal ended it
  char* output;        ///< Standard output, NUL-terminated
  char* trouble;       ///< Standard error, NUL-terminated
  double seconds;      ///< Wall time
  struct rusage usage; ///< What it used
} ProgramRun;

/// Run a program to its end; `arguments` end in NULL, [0] is the program. Exits the test if it
/// cannot be started.
ProgramRun run_program(const char* const* arguments);

/// Free what a run holds.
void run_clear(ProgramRun* run);

/// A new folder for files of a test; free() the name after folder_remove().
char* folder_make(void);
/// Remove a folder and the files in it.
void folder_remove(const char* folder);
/// `folder/name`; free() it.
char* folder_path(const char* folder, const char* name);

#endif // SR_TESTS_RUN_PROGRAM_H
