// SPDX-License-Identifier: GPL-3.0-or-later

#include "chance.h"

#include <math.h>

void
sr_chance_holm(const double* const chances, const size_t count, const double level,
               bool* const told)
{
  size_t left = 0;
  for (size_t i = 0; i < count; ++i) {
    told[i] = false;
    left += isfinite(chances[i]) ? 1 : 0;
  }
  for (; left > 0; --left) {
    size_t least = count;
    for (size_t i = 0; i < count; ++i) {
      if (isfinite(chances[i]) && !told[i] && (least == count || chances[i] < chances[least])) {
        least = i;
      }
    }
    if (least == count || chances[least] > level / (double)left) {
      return;
    }
    told[least] = true;
  }
}
