// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transform_size.h
   Sizes that are quick to transform.
*/

#ifndef SR_HEAR_TRANSFORM_SIZE_H
#define SR_HEAR_TRANSFORM_SIZE_H

#include <stddef.h>

/// The least multiple of 4 that is no less than `n` and has no prime factor over 5.
static inline size_t
sr_transform_size(const size_t n)
{
  for (size_t size = (n + 3) / 4 * 4;; size += 4) {
    size_t rest = size > 0 ? size : 4;
    static const size_t primes[] = {2, 3, 5};
    for (size_t i = 0; i < 3; ++i) {
      while (rest % primes[i] == 0) {
        rest /= primes[i];
      }
    }
    if (rest == 1) {
      return size > 0 ? size : 4;
    }
  }
}

#endif // SR_HEAR_TRANSFORM_SIZE_H
