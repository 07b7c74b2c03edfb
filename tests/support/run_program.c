// SPDX-License-Identifier: GPL-3.0-or-later

#include "run_program.h"

#include <dirent.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static void
give_up(const char* const what)
{
  perror(what);
  exit(99);
}

static double
now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/// All of a file from its start.
static char*
read_all(FILE* const file)
{
  fseek(file, 0, SEEK_END);
  const long size = ftell(file);
  rewind(file);
  char* const text = calloc((size_t)size + 1, 1);
  if (!text || fread(text, 1, (size_t)size, file) != (size_t)size) {
    give_up("reading what the program wrote");
  }
  return text;
}

/// No folder, and none can be made there.
static const char no_config[] = "/dev/null/steadyreed-test";

/// The settings of whoever runs the tests are neither read nor changed.
__attribute__((constructor)) static void
leave_settings_alone(void)
{
  setenv("XDG_CONFIG_HOME", no_config, 1);
}

/// Nothing opens a window on the desktop of whoever runs the tests: `practise` then prints lines.
/// Without WAYLAND_DISPLAY, "wayland-0" would still be tried. A test of the window sets these for a
/// display of its own.
__attribute__((constructor)) static void
have_no_display(void)
{
  unsetenv("DISPLAY");
  unsetenv("WAYLAND_DISPLAY");
  setenv("GDK_BACKEND", "x11", 1);
}

char*
config_begin(void)
{
  const char* const config = getenv("XDG_CONFIG_HOME");
  if (config && strcmp(config, no_config) != 0) {
    return NULL;
  }
  char* const folder = folder_make();
  setenv("XDG_CONFIG_HOME", folder, 1);
  return folder;
}

void
config_end(char* const folder)
{
  if (folder) {
    char* const inner = folder_path(folder, "steadyreed");
    leave_settings_alone();
    folder_remove(inner);
    folder_remove(folder);
    free(inner);
    free(folder);
  }
}

ProgramRun
run_program(const char* const* const arguments)
{
  ProgramRun run = {0};
  FILE* const output = tmpfile();
  FILE* const trouble = tmpfile();
  if (!output || !trouble) {
    give_up("tmpfile");
  }
  char* const config = config_begin();
  const double begun = now_s();
  const pid_t child = fork();
  if (child < 0) {
    give_up("fork");
  }
  if (child == 0) {
    dup2(fileno(output), STDOUT_FILENO);
    dup2(fileno(trouble), STDERR_FILENO);
    char* const* copy;
    // execvp() does not write to its arguments, though its type says so.
    memcpy(&copy, &arguments, sizeof(copy));
    execvp(copy[0], copy);
    _exit(98);
  }
  int status = 0;
  if (wait4(child, &status, 0, &run.usage) != child) {
    give_up("wait4");
  }
  run.seconds = now_s() - begun;
  config_end(config);
  run.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  run.output = read_all(output);
  run.trouble = read_all(trouble);
  fclose(output);
  fclose(trouble);
  return run;
}

void
run_clear(ProgramRun* const run)
{
  free(run->output);
  free(run->trouble);
  memset(run, 0, sizeof(*run));
}

char*
folder_make(void)
{
  const char* const place = getenv("TMPDIR");
  char* folder = NULL;
  if (asprintf(&folder, "%s/steadyreed-test-XXXXXX", place && *place ? place : "/tmp") < 0 ||
      !mkdtemp(folder)) {
    give_up("mkdtemp");
  }
  return folder;
}

void
folder_remove(const char* const folder)
{
  DIR* const list = opendir(folder);
  const struct dirent* entry;
  while (list && (entry = readdir(list))) {
    if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0) {
      char* const path = folder_path(folder, entry->d_name);
      unlink(path);
      free(path);
    }
  }
  if (list) {
    closedir(list);
  }
  rmdir(folder);
}

char*
folder_path(const char* const folder, const char* const name)
{
  char* path = NULL;
  if (asprintf(&path, "%s/%s", folder, name) < 0) {
    give_up("asprintf");
  }
  return path;
}

void
file_put(const char* const path, const char* const text)
{
  FILE* const file = fopen(path, "w");
  if (!file || fputs(text, file) < 0 || fclose(file)) {
    give_up(path);
  }
}

void
text_squeeze(char* const text)
{
  char* to = text;
  for (const char* from = text; *from; ++from) {
    const bool space = strchr(" \n\f", *from) != NULL;
    if (!space || (to > text && to[-1] != ' ')) {
      *to++ = space ? ' ' : *from;
    }
  }
  *to = '\0';
}
