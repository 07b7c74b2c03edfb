// SPDX-License-Identifier: GPL-3.0-or-later

#include "plain_signs.h"

#include <stdlib.h>
#include <string.h>

static const struct {
  char sign[4];
  char plain;
} SIGNS[] = {{"♯", '#'}, {"♭", 'b'}, {"♮", '='}};

#define SIGN_COUNT (sizeof(SIGNS) / sizeof(SIGNS[0]))

bool
sr_has_signs(const char* const text)
{
  for (size_t i = 0; i < SIGN_COUNT; ++i) {
    if (strstr(text, SIGNS[i].sign)) {
      return true;
    }
  }
  return false;
}

/// ASCII replacement for the sign at `text`; 0 if it is not one.
static char
plain_at(const char* const text)
{
  for (size_t i = 0; i < SIGN_COUNT; ++i) {
    if (!strncmp(text, SIGNS[i].sign, 3)) {
      return SIGNS[i].plain;
    }
  }
  return 0;
}

char*
sr_plain_signs(const char* const text)
{
  char* const copy = malloc(strlen(text) + 1);
  if (!copy) {
    return NULL;
  }
  char* to = copy;
  const char* from = text;
  while (*from) {
    const char plain = plain_at(from);
    *to++ = plain ? plain : *from;
    from += plain ? 3 : 1;
  }
  *to = '\0';
  return copy;
}
