// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_SPEECH_SERVER_H
#define SR_TESTS_SPEECH_SERVER_H

#include <stdbool.h>
#include <sys/types.h>

/// Whether there is a speech-dispatcher that can speak.
bool has_speech_server(void);
/**
   Start a speech-dispatcher with a socket and settings of its own, which speaks to the sound server
   of this process, and point the environment to it.

   @param folder Of the test; its files are put there.
   @return Its process, which leads a group of its own; 0 if it did not come up.
*/
pid_t speech_server_begin(const char* folder);
/// End it and what speaks for it. 0 does nothing.
void speech_server_end(pid_t process);

#endif // SR_TESTS_SPEECH_SERVER_H
