// SPDX-License-Identifier: GPL-3.0-or-later

#include "byte_words.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Units, each a thousand times the one before.
static const char units[] = "kMGT";

const char*
sr_byte_words(const uint64_t bytes, char words[SR_BYTE_WORDS_SIZE])
{
  double value = (double)bytes;
  size_t unit = 0;
  // From 999.5 on it would be shown as 1000
  while (value >= 999.5 && unit < strlen(units)) {
    value /= 1000.0;
    ++unit;
  }
  if (unit == 0) {
    snprintf(words, SR_BYTE_WORDS_SIZE, "%.0f bytes", value);
  } else {
    snprintf(words, SR_BYTE_WORDS_SIZE, value < 9.95 ? "%.1f %cB" : "%.0f %cB", value,
             units[unit - 1]);
  }
  return words;
}

bool
sr_value_bytes(const char* const text, const uint64_t least, const uint64_t most,
               uint64_t* const bytes)
{
  if (!isdigit((unsigned char)text[0])) {
    return false;
  }
  char* end = NULL;
  double value = strtod(text, &end);
  // A hexadecimal number is no size
  if (text[1] == 'x' || text[1] == 'X') {
    return false;
  }
  end += *end == ' ';
  const char* const unit = end;
  for (size_t i = 0; *end && i < strlen(units); ++i) {
    if (toupper((unsigned char)*end) == toupper((unsigned char)units[i])) {
      for (size_t step = 0; step <= i; ++step) {
        value *= 1000.0;
      }
      ++end;
      break;
    }
  }
  // A bare number, or one of bytes, is hardly ever what is meant
  if (end == unit) {
    return false;
  }
  end += *end == 'B' || *end == 'b';
  if (*end || !(value >= (double)least && value <= (double)most)) {
    return false;
  }
  *bytes = (uint64_t)value;
  return true;
}
