// SPDX-License-Identifier: GPL-3.0-or-later

#include "utf8.h"

#include <glib.h>

#include <string.h>

/// The last code point of Unicode.
#define SR_LAST_CHARACTER 0x10FFFFu

size_t
sr_utf8_character(const char* const text, const size_t size, uint32_t* const code)
{
  // GLib does not take NUL for a character
  const gunichar found = text[0] ? g_utf8_get_char_validated(text, (gssize)size) : 0;
  if (found > SR_LAST_CHARACTER) {
    return 0;
  }
  if (code) {
    *code = found;
  }
  return (size_t)g_utf8_skip[(unsigned char)text[0]];
}

size_t
sr_utf8_whole(const char* const text, const size_t length)
{
  const char* const end = text + length;
  const char* const last = g_utf8_find_prev_char(text, end);
  return last && last + g_utf8_skip[(unsigned char)*last] > end ? (size_t)(last - text) : length;
}

void
sr_utf8_copy(char* const to, const size_t size, const char* const text)
{
  if (!text) {
    to[0] = '\0';
    return;
  }
  const size_t all = strlen(text);
  const size_t length = all < size ? all : sr_utf8_whole(text, size - 1);
  memcpy(to, text, length);
  to[length] = '\0';
}

bool
sr_utf8_copy_clean(char* const to, const size_t size, const char* const text)
{
  bool whole = true;
  size_t length = 0;
  for (const char* from = text; *from;) {
    uint32_t code = 0;
    const size_t found = sr_utf8_character(from, 4, &code);
    const size_t bytes = found ? found : 1;
    if (length + bytes >= size) {
      whole = false;
      break;
    }
    if (!found || code < 0x20u || (code >= 0x7Fu && code < 0xA0u)) {
      to[length++] = '?';
      whole = false;
    } else {
      memcpy(to + length, from, bytes);
      length += bytes;
    }
    from += bytes;
  }
  to[length] = '\0';
  return whole;
}
