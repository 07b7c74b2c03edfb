// SPDX-License-Identifier: GPL-3.0-or-later

#include "say.h"

#include "command.h"

#include <errno.h>
#include <langinfo.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/// Write with control characters as '?', so that a file's name cannot drive the terminal.
static void
write_safely(FILE* const stream, const char* const text)
{
  for (const char* c = text; *c; ++c) {
    const unsigned char byte = (unsigned char)*c;
    fputc(byte < 0x20u || byte == 0x7Fu ? '?' : *c, stream);
  }
}

void
sr_say_error(const SrError* const error)
{
  char text[SR_ERROR_MESSAGE_SIZE + SR_ERROR_FILE_SIZE + 64];
  fflush(stdout);
  fputs("steadyreed: ", stderr);
  write_safely(stderr, sr_error_print(error, text, sizeof(text)));
  fputc('\n', stderr);
}

void
sr_say_refusal(const SrShownTake* const take)
{
  sr_say_error(take->error);
  for (size_t i = 0; i < take->remark_count; ++i) {
    fputs("  Note: ", stderr);
    write_safely(stderr, take->remarks[i]);
    fputc('\n', stderr);
  }
}

int
sr_say_usage(const char* const command, const char* const format, ...)
{
  char text[1024];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(text, sizeof(text), format, arguments);
  va_end(arguments);
  fflush(stdout);
  fprintf(stderr, "steadyreed%s%s: ", *command ? " " : "", command);
  write_safely(stderr, text);
  fprintf(stderr, "\nSee `steadyreed%s%s --help`.\n", *command ? " " : "", command);
  return SR_EXIT_WRONG_USAGE;
}

int
sr_say_bad_option(const char* const command, const int option, const int short_option,
                  const char* const argument)
{
  if (option == ':') {
    return sr_say_usage(command, "%s needs a value after it.", argument ? argument : "The option");
  }
  if (argument && !strncmp(argument, "--", 2)) {
    return sr_say_usage(command, "there is no option %s (or it takes no value).", argument);
  }
  return sr_say_usage(command, "there is no option -%c.", short_option);
}

SrShowStyle
sr_say_style(FILE* const stream)
{
  SrShowStyle style = {false, false, false};
  const char* const no_colour = getenv("NO_COLOR");
  const char* const terminal = getenv("TERM");
  style.colour = isatty(fileno(stream)) && !(no_colour && *no_colour) && terminal && *terminal &&
                 strcmp(terminal, "dumb") != 0;
  style.unicode = !strcasecmp(nl_langinfo(CODESET), "UTF-8");
  return style;
}

int
sr_say_flush(FILE* const stream, const char* const name)
{
  errno = 0;
  if (fflush(stream) || ferror(stream)) {
    SrError error;
    sr_error_set(&error, SR_WRITE_FAILED, "What was found could not be written: %s.",
                 errno ? strerror(errno) : "the disk or the reader refused it");
    sr_error_place(&error, name, 0, 0);
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  return SR_EXIT_DONE;
}
