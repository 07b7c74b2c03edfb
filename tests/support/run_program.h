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
/// cannot be started. Unless the test has set XDG_CONFIG_HOME, each run has no settings; it never
/// has the display of whoever runs the tests.
ProgramRun run_program(const char* const* arguments);

/// Free what a run holds.
void run_clear(ProgramRun* run);

/// Set XDG_CONFIG_HOME to a new folder, unless the test has set it; end it with config_end().
char* config_begin(void);
/// Remove that folder with what a program kept in it.
void config_end(char* folder);

/// A new folder for files of a test; free() the name after folder_remove().
char* folder_make(void);
/// Remove a folder and the files in it.
void folder_remove(const char* folder);
/// `folder/name`; free() it.
char* folder_path(const char* folder, const char* name);
/// Write a text to a file; ends the test program if that fails.
void file_put(const char* path, const char* text);
/// Make each run of spaces, line and page breaks a single space.
void text_squeeze(char* text);

#endif // SR_TESTS_RUN_PROGRAM_H
