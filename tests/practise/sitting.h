// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file sitting.h
   One sitting with `steadyreed practise`, on a sound server of its own whose sink is the player
   and whose monitor is the microphone. What does not go as it must ends the test with cmocka.
*/

#ifndef SR_TESTS_SITTING_H
#define SR_TESTS_SITTING_H

#include "sound_server.h"

#include <stdbool.h>
#include <stddef.h>
#include <termios.h>

/// Where things lie; set by main().
extern const char* test_program;
extern const char* test_make_take;
extern const char* test_source;

/// Clock of the tests, s.
double test_now_s(void);
/// Sleep.
void test_nap(double seconds);
/// Printed like asprintf(); free() it.
char* test_text(const char* format, ...) __attribute__((format(printf, 1, 2)));
/// Path of `exercises/NAME.abc`, and of `testdata/takes/NAME.flac`; free() it.
char* test_phrase(const char* name);
char* test_take(const char* name);

/// A sitting; all zero is none.
typedef struct {
  SoundServer server;
  char* folder; ///< Of this test
  char* data;   ///< XDG_DATA_HOME
  char* takes;  ///< Where takes are kept
  char* said_path;
  char* trouble_path;
  pid_t program; ///< 0 if it does not run
  pid_t player;
  pid_t witness;
  long file_limit; ///< Largest file that the program may write, 0 for any
  int terminal;    ///< Our side of its terminal, 0 for none
  struct termios terminal_before;
} Sitting;

/// A server and a folder.
void sitting_begin(Sitting* sitting, int rate_hz);
/// End what still runs, and remove all.
void sitting_clear(Sitting* sitting);

/// Start `steadyreed practise PHRASE --plain OPTIONS…`; the options end in NULL.
void sitting_practise(Sitting* sitting, const char* phrase, const char* const* options);
/// The same on a terminal of its own, whose settings are as they are by default.
void sitting_practise_on_terminal(Sitting* sitting, const char* phrase, const char* const* options);
/// Start `steadyreed ARGUMENTS…` on such a terminal; they end in NULL.
void sitting_start_on_terminal(Sitting* sitting, const char* const* arguments);
/// Wait until it listens, which its recording tells.
void sitting_wait_until_ready(Sitting* sitting);
/// Wait until it has said something on its output.
void sitting_wait_for(Sitting* sitting, const char* words, double most_s);
/// … and so often.
void sitting_wait_for_times(Sitting* sitting, const char* words, size_t times, double most_s);
/// Wait for its end, which must come within `most_s`. Exit status, or minus the signal.
int sitting_end(Sitting* sitting, double most_s);

/// Play a file on the sink.
void sitting_play(Sitting* sitting, const char* path);
/// Wait until it is played.
void sitting_wait_played(Sitting* sitting);
/// Record the monitor beside the program, into a file of the folder.
void sitting_witness(Sitting* sitting, const char* path, int rate_hz);
void sitting_witness_end(Sitting* sitting);

/// What it wrote so far; free() it.
char* sitting_said(const Sitting* sitting);
char* sitting_trouble(const Sitting* sitting);
/// How many files are kept.
size_t sitting_kept_count(const Sitting* sitting);
/// The one file that is kept; free() it. NULL if there is none.
char* sitting_kept(const Sitting* sitting);

/// A file in the test's folder; free() it.
char* sitting_path(const Sitting* sitting, const char* name);

#endif // SR_TESTS_SITTING_H
