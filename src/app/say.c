// SPDX-License-Identifier: GPL-3.0-or-later

#include "say.h"

#include "command.h"

#include <errno.h>
#include <langinfo.h>
#include <poll.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/ioctl.h>
#include <unistd.h>

/// A terminal that reports fewer columns is not believed.
#define LEAST_COLUMNS 20

static bool
is_unicode(void)
{
  return !strcasecmp(nl_langinfo(CODESET), "UTF-8");
}

size_t
sr_say_columns(FILE* const stream)
{
  struct winsize size;
  if (ioctl(fileno(stream), TIOCGWINSZ, &size) || size.ws_col == 0) {
    return 0;
  }
  return size.ws_col > LEAST_COLUMNS ? size.ws_col : LEAST_COLUMNS;
}

/**
   Line feeds are replaced, since text after one could pass for our own. Not broken without a
   terminal.
*/
static void
write_safely(FILE* const stream, const char* const text, const size_t indent)
{
  char* const safe = sr_show_safe(text, is_unicode());
  const SrShowLine line = {0, indent, sr_say_columns(stream), NULL};
  if (line.columns) {
    sr_show_words(stream, safe ? safe : "", &line);
  } else {
    fputs(safe ? safe : "", stream);
  }
  free(safe);
}

void
sr_say_text(FILE* const stream, const char* const text)
{
  char* const copy = strdup(text);
  char* rest = copy;
  for (char* line; (line = strsep(&rest, "\n"));) {
    write_safely(stream, line, strspn(line, " ") + 2);
    if (rest) {
      fputc('\n', stream);
    }
  }
  free(copy);
}

/// printf() to a new string; free it. NULL without memory.
static char* put_together(const char* format, va_list arguments) SR_PRINTF(1, 0);

static char*
put_together(const char* const format, va_list arguments)
{
  char* text = NULL;
  return vasprintf(&text, format, arguments) < 0 ? NULL : text;
}

void
sr_say_arguments(FILE* const stream, const char* const format, va_list arguments)
{
  char* const text = put_together(format, arguments);
  sr_say_text(stream, text ? text : "");
  free(text);
}

void
sr_say_format(FILE* const stream, const char* const format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  sr_say_arguments(stream, format, arguments);
  va_end(arguments);
}

void
sr_say_indented(FILE* const stream, const size_t indent, const char* const format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  char* const text = put_together(format, arguments);
  va_end(arguments);
  write_safely(stream, text ? text : "", indent);
  fputc('\n', stream);
  free(text);
}

/// Write a line that is also broken without a terminal.
static void
write_words(FILE* const stream, const char* const text, const size_t indent,
            const char* const broken)
{
  char* const safe = sr_show_safe(text, is_unicode());
  sr_show_words(stream, safe ? safe : "", &(SrShowLine){0, indent, sr_say_columns(stream), broken});
  fputc('\n', stream);
  free(safe);
}

void
sr_say_paragraph(FILE* const stream, const size_t indent, const char* const text)
{
  write_words(stream, text, indent, NULL);
}

/// End of a command's line that is continued, and indent of the next.
#define COMMAND_BROKEN " \\"
#define COMMAND_INDENT 8

void
sr_say_command(FILE* const stream, const char* const format, ...)
{
  va_list arguments;
  va_start(arguments, format);
  char* const text = put_together(format, arguments);
  va_end(arguments);
  write_words(stream, text ? text : "", COMMAND_INDENT, COMMAND_BROKEN);
  free(text);
}

void
sr_say_error(const SrError* const error)
{
  char text[SR_ERROR_MESSAGE_SIZE + SR_ERROR_FILE_SIZE + 64];
  fflush(stdout);
  sr_say_indented(stderr, 2, "steadyreed: %s", sr_error_print(error, text, sizeof(text)));
}

void
sr_say_line(const char* const text)
{
  fflush(stdout);
  sr_say_indented(stderr, strspn(text, " ") + 2, "%s", text);
}

void
sr_say_refusal(const SrShownTake* const take)
{
  sr_say_error(take->error);
  for (size_t i = 0; i < take->remark_count; ++i) {
    sr_say_indented(stderr, 4, "  Note: %s", take->remarks[i]);
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
  const char* const space = *command ? " " : "";
  fflush(stdout);
  sr_say_indented(stderr, 2, "steadyreed%s%s: %s", space, command, text);
  sr_say_indented(stderr, 2, "See `steadyreed%s%s --help`.", space, command);
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
  SrShowStyle style = {.columns = sr_say_columns(stream)};
  const char* const no_colour = getenv("NO_COLOR");
  const char* const terminal = getenv("TERM");
  style.colour = isatty(fileno(stream)) && !(no_colour && *no_colour) && terminal && *terminal &&
                 strcmp(terminal, "dumb") != 0;
  style.unicode = is_unicode();
  return style;
}

bool
sr_say_reader_left(FILE* const stream)
{
  struct pollfd pipe = {fileno(stream), POLLOUT, 0};
  return ferror(stream) && poll(&pipe, 1, 0) == 1 && (pipe.revents & (POLLERR | POLLHUP)) != 0;
}

int
sr_say_flush(FILE* const stream, const char* const name)
{
  errno = 0;
  if (fflush(stream) || ferror(stream)) {
    if (sr_say_reader_left(stream)) {
      return SR_EXIT_DONE;
    }
    SrError error;
    sr_error_set(&error, SR_WRITE_FAILED, "The result could not be written: %s.",
                 errno ? strerror(errno) : "the disk or the reader refused it");
    sr_error_place(&error, name, 0, 0);
    sr_say_error(&error);
    return SR_EXIT_NOT_JUDGED;
  }
  return SR_EXIT_DONE;
}

void
sr_setup_read_or_say(SrSetup* const setup)
{
  SrError error = {0};
  if (sr_setup_read(setup, &error) != SR_OK) {
    sr_say_error(&error);
  }
}
