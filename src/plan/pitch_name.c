// SPDX-License-Identifier: GPL-3.0-or-later

#include "pitch_name.h"

#include <string.h>

/// Skip `sign` if `text` begins with it.
static bool
take(const char** const text, const char* const sign)
{
  const size_t length = strlen(sign);
  if (strncmp(*text, sign, length) != 0) {
    return false;
  }
  *text += length;
  return true;
}

bool
sr_pitch_name_midi(const char* const name, int* const midi)
{
  static const int steps[] = {9, 11, 0, 2, 4, 5, 7};
  const char* rest = name;
  if (*rest < 'A' || *rest > 'G') {
    return false;
  }
  int step = steps[*rest++ - 'A'];
  if (take(&rest, "#") || take(&rest, "\u266F")) {
    ++step;
  } else if (take(&rest, "b") || take(&rest, "\u266D")) {
    --step;
  }
  const bool below = take(&rest, "-");
  if (*rest < '0' || *rest > '9' || rest[1] || (below && *rest != '1')) {
    return false;
  }
  const int octave = below ? -1 : *rest - '0';
  *midi = 12 * (octave + 1) + step;
  return true;
}
