// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_TESTS_SOUND_SERVER_H
#define SR_TESTS_SOUND_SERVER_H

#include <stdbool.h>
#include <sys/types.h>

/// A PulseAudio of our own, whose only device is a sink that nobody hears and its monitor.
typedef struct {
  pid_t process;
  char folder[64];
} SoundServer;

/// Whether a program is in PATH.
bool has_program(const char* name);

/// Start one and point the environment of this process to it; false if it did not come up.
bool server_begin(SoundServer* server);
/// The same with another sample rate than 44100 Hz.
bool server_begin_at(SoundServer* server, int rate_hz);

/// End it, with a signal, and remove its folder. Does nothing if there is none.
void server_end(SoundServer* server, int signal_number);

/// Start a program of PATH in the background; `arguments` end in NULL. Its process.
pid_t program_begin(const char* const* arguments);

#endif // SR_TESTS_SOUND_SERVER_H
