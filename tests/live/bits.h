// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file bits.h
   Whether two numbers are the same to the last bit.
*/

#ifndef TEST_BITS_H
#define TEST_BITS_H

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/// Any NaN is as good as another.
static inline bool
same_bits(const double one, const double other)
{
  uint64_t bits[2];
  memcpy(&bits[0], &one, sizeof(double));
  memcpy(&bits[1], &other, sizeof(double));
  return bits[0] == bits[1] || (isnan(one) && isnan(other));
}

#endif // TEST_BITS_H
