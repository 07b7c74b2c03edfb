// SPDX-License-Identifier: GPL-3.0-or-later

#include "run_terminal.h"

#include <pty.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>
#include <wchar.h>

static void
give_up(const char* const what)
{
  perror(what);
  exit(99);
}

/// All that comes until the program closes its terminal.
static char*
read_all(const int terminal)
{
  char* text = NULL;
  size_t size = 0;
  FILE* const stream = open_memstream(&text, &size);
  char bytes[4096];
  ssize_t count;
  while (stream && (count = read(terminal, bytes, sizeof(bytes))) > 0) {
    fwrite(bytes, 1, (size_t)count, stream);
  }
  if (!stream || fclose(stream)) {
    give_up("open_memstream");
  }
  return text;
}

ProgramRun
run_on_terminal(const char* const* const arguments, const unsigned short columns)
{
  struct winsize size = {.ws_row = 24, .ws_col = columns};
  struct termios raw = {0};
  cfmakeraw(&raw);
  ProgramRun run = {0};
  int terminal = -1;
  char* const config = config_begin();
  const pid_t child = forkpty(&terminal, NULL, &raw, &size);
  if (child < 0) {
    give_up("forkpty");
  }
  if (child == 0) {
    setenv("LC_ALL", "C.UTF-8", 1);
    setenv("NO_COLOR", "1", 1);
    char* const* copy;
    // execvp() does not write to its arguments, though its type says so.
    memcpy(&copy, &arguments, sizeof(copy));
    execvp(copy[0], copy);
    _exit(98);
  }
  run.output = read_all(terminal);
  run.trouble = calloc(1, 1);
  close(terminal);
  int status = 0;
  if (wait4(child, &status, 0, &run.usage) != child) {
    give_up("wait4");
  }
  run.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  config_end(config);
  return run;
}

size_t
widest_line(const char* const text)
{
  size_t widest = 0;
  size_t columns = 0;
  mbstate_t state = {0};
  const size_t length = strlen(text);
  for (size_t at = 0; at < length;) {
    wchar_t character = 0;
    const size_t size = mbrtowc(&character, text + at, length - at, &state);
    if (size == 0 || size > length - at) {
      give_up("not UTF-8");
    }
    const int width = wcwidth(character);
    columns =
        character == L'\n' || character == L'\r' ? 0 : columns + (size_t)(width > 0 ? width : 0);
    widest = columns > widest ? columns : widest;
    at += size;
  }
  return widest;
}
