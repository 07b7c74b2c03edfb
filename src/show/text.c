// SPDX-License-Identifier: GPL-3.0-or-later

#include "text.h"

#include "../utf8.h"

#include <steadyreed/show.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Replacement for a character on a terminal without UTF-8.
static const char*
ascii_for(const uint32_t code)
{
  switch (code) {
  case 0x266F: // ♯
    return "#";
  case 0x266D: // ♭
    return "b";
  case 0x266E: // ♮
    return "=";
  case 0x00B7: // ·
  case 0x2013: // –
  case 0x2014: // —
    return "-";
  case 0x2018: // ‘
  case 0x2019: // ’
    return "'";
  case 0x201C: // “
  case 0x201D: // ”
    return "\"";
  case 0x2026: // …
    return "...";
  case 0x00B1: // ±
    return "+-";
  default:
    return "?";
  }
}

/// C0, delete and C1 controls, line and paragraph separators, and directional marks (Unicode, UAX
/// #9).
static bool
is_control(const uint32_t code)
{
  return code < 0x20 || (code >= 0x7F && code < 0xA0) || (code >= 0x202A && code <= 0x202E) ||
         (code >= 0x2066 && code <= 0x2069) || code == 0x061C || code == 0x200E || code == 0x200F ||
         code == 0x2028 || code == 0x2029;
}

static char*
copy_text(const char* const bytes, const bool terminal, const bool unicode)
{
  // No replacement is longer than three bytes
  char* const copy = malloc(3 * strlen(bytes) + 1);
  if (!copy) {
    return NULL;
  }
  char* to = copy;
  const char* from = bytes;
  while (*from) {
    uint32_t code = 0;
    const size_t size = sr_utf8_character(from, 4, &code);
    const char* instead = NULL;
    if (terminal && size && is_control(code)) {
      instead = "?";
    } else if (terminal && !unicode && (!size || code >= 0x80)) {
      instead = size ? ascii_for(code) : "?";
    } else if (!size) {
      instead = "\xEF\xBF\xBD";
    }
    if (instead) {
      const size_t length = strlen(instead);
      memcpy(to, instead, length);
      to += length;
    } else {
      memcpy(to, from, size);
      to += size;
    }
    from += size ? size : 1;
  }
  *to = '\0';
  return copy;
}

char*
sr_text_valid(const char* const bytes)
{
  return copy_text(bytes, false, true);
}

char*
sr_text_terminal(const char* const bytes, const bool unicode)
{
  return copy_text(bytes, true, unicode);
}

char*
sr_show_safe(const char* const text, const bool unicode)
{
  return sr_text_terminal(text, unicode);
}

const char*
sr_text_midi_name(const int midi, const bool flats, char* const name)
{
  static const char* const sharp_names[12] = {"C",  "C♯", "D",  "D♯", "E",  "F",
                                              "F♯", "G",  "G♯", "A",  "A♯", "B"};
  static const char* const flat_names[12] = {"C",  "D♭", "D",  "E♭", "E",  "F",
                                             "G♭", "G",  "A♭", "A",  "B♭", "B"};
  if (midi < 0 || midi > 127) {
    snprintf(name, 12, "nothing");
    return name;
  }
  snprintf(name, 12, "%s%d", (flats ? flat_names : sharp_names)[midi % 12], midi / 12 - 1);
  return name;
}

const char*
sr_show_drop_octave(char* const name)
{
  name[strcspn(name, "-0123456789")] = '\0';
  return name;
}

const char*
sr_text_clock(const double seconds, char* const clock)
{
  if (!isfinite(seconds) || seconds < 0.0 || seconds > 1e7) {
    snprintf(clock, 32, "?");
    return clock;
  }
  const long tenths = lround(seconds * 10.0);
  snprintf(clock, 32, "%ld:%02ld.%ld", tenths / 600, tenths / 10 % 60, tenths % 10);
  return clock;
}
