// SPDX-License-Identifier: GPL-3.0-or-later

#include "speech_server.h"

#include "run_program.h"
#include "sound_server.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/// Where Debian puts what speaks.
#define MODULE "/usr/lib/speech-dispatcher-modules/sd_espeak-ng"

bool
has_speech_server(void)
{
  return has_program("speech-dispatcher") && access(MODULE, X_OK) == 0;
}

static bool
write_settings(const char* const folder)
{
  char path[256];
  snprintf(path, sizeof(path), "%s/modules", folder);
  if (mkdir(folder, 0700) != 0 || mkdir(path, 0700) != 0) {
    return false;
  }
  snprintf(path, sizeof(path), "%s/modules/espeak-ng.conf", folder);
  FILE* file = fopen(path, "w");
  if (!file || fclose(file) != 0) {
    return false;
  }
  snprintf(path, sizeof(path), "%s/speechd.conf", folder);
  file = fopen(path, "w");
  if (!file) {
    return false;
  }
  fputs("LogLevel 0\nAudioOutputMethod \"pulse\"\nDefaultLanguage \"en\"\n"
        "AddModule \"espeak-ng\" \"" MODULE "\" \"espeak-ng.conf\"\n"
        "DefaultModule espeak-ng\n",
        file);
  return fclose(file) == 0;
}

static bool
answers(const char* const path)
{
  struct sockaddr_un address = {.sun_family = AF_UNIX};
  snprintf(address.sun_path, sizeof(address.sun_path), "%s", path);
  const int client = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const bool good =
      client >= 0 && connect(client, (const struct sockaddr*)&address, sizeof(address)) == 0;
  if (client >= 0) {
    close(client);
  }
  return good;
}

static _Noreturn void
be_server(const char* const settings, const char* const path, const char* const lock)
{
  // Do not outlive a test that crashed; a group of its own, for its modules to be ended with it
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  setpgid(0, 0);
  const int nowhere = open("/dev/null", O_RDWR);
  dup2(nowhere, STDIN_FILENO);
  dup2(nowhere, STDOUT_FILENO);
  dup2(nowhere, STDERR_FILENO);
  execlp("speech-dispatcher", "speech-dispatcher", "--run-single", "-c", "unix_socket", "-S", path,
         "-C", settings, "-P", lock, "-L", settings, "-t", "0", (char*)NULL);
  _exit(98);
}

pid_t
speech_server_begin(const char* const folder)
{
  char* const settings = folder_path(folder, "speech");
  char* const path = folder_path(folder, "speech.socket");
  char* const lock = folder_path(folder, "speech.pid");
  char address[256];
  snprintf(address, sizeof(address), "unix_socket:%s", path);
  pid_t process = 0;
  if (write_settings(settings)) {
    process = fork();
    if (process == 0) {
      be_server(settings, path, lock);
    }
    bool up = false;
    for (int i = 0; i < 100 && process > 0 && !up; ++i) {
      const struct timespec nap = {0, 100000000L};
      nanosleep(&nap, NULL);
      up = answers(path);
    }
    setenv("SPEECHD_ADDRESS", address, 1);
    if (!up) {
      speech_server_end(process);
      process = 0;
    }
  }
  free(settings);
  free(path);
  free(lock);
  return process > 0 ? process : 0;
}

void
speech_server_end(const pid_t process)
{
  if (process > 0) {
    kill(-process, SIGCONT);
    kill(process, SIGTERM);
    // It ends its modules; what hangs is ended with the group
    for (int i = 0; i < 20; ++i) {
      const struct timespec nap = {0, 100000000L};
      if (waitpid(process, NULL, WNOHANG) == process) {
        kill(-process, SIGKILL);
        return;
      }
      nanosleep(&nap, NULL);
    }
    kill(-process, SIGKILL);
    waitpid(process, NULL, 0);
  }
}
