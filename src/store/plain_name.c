// SPDX-License-Identifier: GPL-3.0-or-later

#include "plain_name.h"

#include <stdbool.h>
#include <stddef.h>

void
sr_plain_name(const char* const title, char plain[SR_PLAIN_NAME_MOST + 1])
{
  size_t length = 0;
  bool gap = false;
  for (const char* c = title; *c && length + 2 <= SR_PLAIN_NAME_MOST; ++c) {
    const char small = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;
    if ((small >= 'a' && small <= 'z') || (small >= '0' && small <= '9')) {
      if (gap && length > 0) {
        plain[length++] = '-';
      }
      plain[length++] = small;
      gap = false;
    } else {
      gap = true;
    }
  }
  plain[length] = '\0';
}
