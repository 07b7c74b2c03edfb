// SPDX-License-Identifier: GPL-3.0-or-later

#include "sound_server.h"

#include <fcntl.h>
#include <ftw.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

// Sanitizers ask for these by name. Libraries that load and unload plugins of their own lose
// memory, and PulseAudio's own, which is not built for it, looks like a race. What is suppressed
// passes through them: nothing of ours does for memory, and our callbacks are not called by
// libpulse. NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp)
const char* __asan_default_options(void);
const char* __lsan_default_suppressions(void);
const char* __tsan_default_suppressions(void);

const char*
__asan_default_options(void)
{
  return "fast_unwind_on_malloc=0";
}

const char*
__lsan_default_suppressions(void)
{
  return "leak:libasound\nleak:libportaudio\nleak:libpulse\n";
}

const char*
__tsan_default_suppressions(void)
{
  return "race:libpulse\n";
}
// NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp)

bool
has_program(const char* const name)
{
  const char* const path = getenv("PATH");
  char* const folders = strdup(path ? path : "/usr/bin:/bin");
  bool found = false;
  char* rest = NULL;
  for (char* folder = strtok_r(folders, ":", &rest); folder && !found;
       folder = strtok_r(NULL, ":", &rest)) {
    char* file = NULL;
    if (asprintf(&file, "%s/%s", folder, name) >= 0) {
      found = access(file, X_OK) == 0;
      free(file);
    }
  }
  free(folders);
  return found;
}

pid_t
program_begin(const char* const* const arguments)
{
  const pid_t child = fork();
  if (child == 0) {
    // Do not outlive a test that crashed.
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    const int nowhere = open("/dev/null", O_RDWR);
    dup2(nowhere, STDIN_FILENO);
    dup2(nowhere, STDOUT_FILENO);
    dup2(nowhere, STDERR_FILENO);
    char* const* copy;
    // execvp() does not write to its arguments, though its type says so.
    memcpy(&copy, &arguments, sizeof(copy));
    execvp(copy[0], copy);
    _exit(98);
  }
  return child;
}

/// Whether the server answers.
static bool
answers(void)
{
  static const char* const arguments[] = {"pactl", "info", NULL};
  const pid_t child = program_begin(arguments);
  int status = 1;
  return child > 0 && waitpid(child, &status, 0) == child && WIFEXITED(status) &&
         WEXITSTATUS(status) == 0;
}

bool
server_begin(SoundServer* const server)
{
  return server_begin_at(server, 44100);
}

bool
server_begin_at(SoundServer* const server, const int rate_hz)
{
  server->process = 0;
  strcpy(server->folder, "/tmp/steadyreed-pulse-XXXXXX");
  if (!mkdtemp(server->folder)) {
    server->folder[0] = '\0';
    return false;
  }
  char socket[128];
  char protocol[256];
  char sink[128];
  snprintf(socket, sizeof(socket), "unix:%s/pulse.socket", server->folder);
  snprintf(protocol, sizeof(protocol),
           "--load=module-native-protocol-unix socket=%s/pulse.socket auth-anonymous=1",
           server->folder);
  snprintf(sink, sizeof(sink), "--load=module-null-sink sink_name=quiet rate=%d", rate_hz);
  // Its own places, so that neither a server that runs nor the player's settings are touched.
  setenv("XDG_RUNTIME_DIR", server->folder, 1);
  setenv("XDG_CONFIG_HOME", server->folder, 1);
  setenv("PULSE_SERVER", socket, 1);
  const char* const arguments[] = {"pulseaudio",
                                   "--daemonize=no",
                                   "--exit-idle-time=-1",
                                   "--disallow-exit",
                                   "-n",
                                   protocol,
                                   sink,
                                   NULL};
  server->process = program_begin(arguments);
  for (int i = 0; i < 100 && server->process > 0; ++i) {
    if (answers()) {
      return true;
    }
    const struct timespec nap = {0, 100000000L};
    nanosleep(&nap, NULL);
  }
  server_end(server, SIGKILL);
  return false;
}

static int
remove_one(const char* const path, const struct stat* const status, const int kind,
           struct FTW* const place)
{
  (void)status;
  (void)kind;
  (void)place;
  return remove(path);
}

void
server_end(SoundServer* const server, const int signal_number)
{
  if (server->process > 0) {
    kill(server->process, signal_number);
    waitpid(server->process, NULL, 0);
    server->process = 0;
  }
  if (server->folder[0]) {
    nftw(server->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    server->folder[0] = '\0';
  }
}
