// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/status.h>

#include "utf8.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char*
sr_status_text(const SrStatus status)
{
  switch (status) {
  case SR_OK:
    return "Done";
  case SR_NO_MEMORY:
    return "There is not enough memory";
  case SR_BAD_ARGUMENT:
    return "A value is out of its range";
  case SR_NOT_FOUND:
    return "It was not found";
  case SR_NO_PERMISSION:
    return "The system does not permit it";
  case SR_BAD_SYNTAX:
    return "The text does not follow its rules";
  case SR_UNSUPPORTED:
    return "This is outside what Steadyreed reads";
  case SR_TOO_LARGE:
    return "It is over a limit";
  case SR_BAD_AUDIO:
    return "This is not usable audio";
  case SR_NOTHING_HEARD:
    return "No note was heard";
  case SR_NO_MATCH:
    return "What was played is not this phrase";
  case SR_EXISTS:
    return "There is already a file of that name";
  case SR_WRITE_FAILED:
    return "The output could not be written";
  case SR_DEVICE_TROUBLE:
    return "The audio device failed";
  }
  return "Unknown status";
}

SrStatus
sr_error_set(SrError* const error, const SrStatus status, const char* const format, ...)
{
  if (!error) {
    return status;
  }
  char words[SR_ERROR_MESSAGE_SIZE];
  va_list arguments;
  va_start(arguments, format);
  const int length = vsnprintf(words, sizeof(words), format, arguments);
  va_end(arguments);
  memset(error, 0, sizeof(*error));
  error->status = status;

  if (length < 0) {
    words[0] = '\0';
  } else if ((size_t)length >= sizeof(words)) {
    words[sr_utf8_whole(words, strlen(words))] = '\0';
  }
  sr_utf8_copy_clean(error->message, sizeof(error->message), words);
  return status;
}

void
sr_error_place(SrError* const error, const char* const file, const unsigned line,
               const unsigned column)
{
  if (!error) {
    return;
  }
  error->file[0] = '\0';
  if (file) {
    const size_t length = strlen(file);
    const size_t most = sizeof(error->file) - 1;
    const char* const from = length > most ? file + (length - most) : file;
    memcpy(error->file, from, strlen(from) + 1);
  }
  error->line = line;
  error->column = column;
}

const char*
sr_error_print(const SrError* const error, char* const buffer, const size_t size)
{
  char place[64] = "";
  if (error->line && error->column) {
    snprintf(place, sizeof(place), ":%u:%u", error->line, error->column);
  } else if (error->line) {
    snprintf(place, sizeof(place), ":%u", error->line);
  }
  const int length =
      snprintf(buffer, size, "%s%s%s%s", error->file, place, error->file[0] || place[0] ? ": " : "",
               error->message[0] ? error->message : sr_status_text(error->status));
  if (length >= 0 && (size_t)length >= size) {
    buffer[sr_utf8_whole(buffer, strlen(buffer))] = '\0';
  }
  return buffer;
}
