// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file harmonic.h
   Pitches that lie at a harmonic of another.
*/

#ifndef SR_HEAR_HARMONIC_H
#define SR_HEAR_HARMONIC_H

#include <stdbool.h>
#include <stddef.h>

/// Whether a pitch lies at one of harmonics 2 to 8 of a lower one, in equal temperament.
static inline bool
sr_is_harmonic(const size_t lower, const size_t upper)
{
  static const size_t above[] = {12, 19, 24, 28, 31, 34, 36};
  for (size_t i = 0; i < sizeof(above) / sizeof(above[0]); ++i) {
    if (upper == lower + above[i]) {
      return true;
    }
  }
  return false;
}

#endif // SR_HEAR_HARMONIC_H
