// SPDX-License-Identifier: GPL-3.0-or-later

#include "utf8.h"

#include <string.h>

size_t
sr_utf8_character(const char* const text, const size_t size, uint32_t* const code)
{
  const unsigned char* const bytes = (const unsigned char*)text;
  const unsigned char lead = bytes[0];
  const size_t wanted = lead < 0x80u ? 1 : lead >= 0xF0u ? 4 : lead >= 0xE0u ? 3 : 2;
  if (wanted > size || (lead >= 0x80u && lead < 0xC2u) || lead > 0xF4u) {
    return 0;
  }
  uint32_t value = wanted == 1 ? lead : lead & (0x7Fu >> wanted);
  for (size_t i = 1; i < wanted; ++i) {
    if ((bytes[i] & 0xC0u) != 0x80u) {
      return 0;
    }
    value = (value << 6u) | (bytes[i] & 0x3Fu);
  }
  // No overlong encodings, surrogates or code points past the last
  static const uint32_t least[] = {0, 0, 0x80u, 0x800u, 0x10000u};
  if (value < least[wanted] || value > 0x10FFFFu || (value >= 0xD800u && value <= 0xDFFFu)) {
    return 0;
  }
  if (code) {
    *code = value;
  }
  return wanted;
}

size_t
sr_utf8_whole(const char* const text, const size_t length)
{
  // Back to the first byte of the last character
  for (size_t back = 1; back <= 3 && back <= length; ++back) {
    const unsigned char lead = (unsigned char)text[length - back];
    if ((lead & 0xC0u) != 0x80u) {
      const size_t wanted = lead >= 0xF0u ? 4 : lead >= 0xE0u ? 3 : lead >= 0xC0u ? 2 : 1;
      return back < wanted ? length - back : length;
    }
  }
  return length;
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
