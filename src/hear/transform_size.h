// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transform_size.h
   Sizes with fast transforms.
*/

#ifndef SR_HEAR_TRANSFORM_SIZE_H
#define SR_HEAR_TRANSFORM_SIZE_H

#include <stdbool.h>
#include <stddef.h>

/// Whether `n` has no prime factor over `largest`, which is 5 or 7.
static inline bool
sr_has_small_factors(const size_t n, const size_t largest)
{
  static const size_t primes[] = {2, 3, 5, 7};
  size_t rest = n;
  for (size_t i = 0; i < sizeof(primes) / sizeof(primes[0]) && primes[i] <= largest; ++i) {
    while (rest > 0 && rest % primes[i] == 0) {
      rest /= primes[i];
    }
  }
  return rest == 1;
}

/// The smallest multiple of 4 that is at least `n` and has no prime factor over 5.
static inline size_t
sr_transform_size(const size_t n)
{
  size_t size = n > 0 ? (n + 3) / 4 * 4 : 4;
  while (!sr_has_small_factors(size, 5)) {
    size += 4;
  }
  return size;
}

#endif // SR_HEAR_TRANSFORM_SIZE_H
