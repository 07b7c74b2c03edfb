// SPDX-License-Identifier: GPL-3.0-or-later

#include "clean_text.h"

bool
sr_test_is_clean_text(const char* text)
{
  while (*text) {
    const unsigned char lead = (unsigned char)*text;
    const int more = lead < 0x80u ? 0 : lead < 0xE0u ? 1 : lead < 0xF0u ? 2 : 3;
    unsigned code = more == 0   ? lead
                    : more == 1 ? lead & 0x1Fu
                    : more == 2 ? lead & 0xFu
                                : lead & 7u;
    if (lead < 0x20u || lead == 0x7Fu || (lead >= 0x80u && lead < 0xC0u) || lead > 0xF7u) {
      return false;
    }
    for (int i = 1; i <= more; ++i) {
      const unsigned char next = (unsigned char)text[i];
      if ((next & 0xC0u) != 0x80u) {
        return false;
      }
      code = code << 6u | (next & 0x3Fu);
    }
    static const unsigned least[4] = {0, 0x80u, 0x800u, 0x10000u};
    if (code < least[more] || code > 0x10FFFFu || (code >= 0xD800u && code < 0xE000u)) {
      return false;
    }
    text += more + 1;
  }
  return true;
}
