// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file random.h
   Repeatable random numbers for tests (splitmix64, Steele, Lea and Flood 2014).
*/

#ifndef TEST_RANDOM_H
#define TEST_RANDOM_H

#include <math.h>
#include <stdint.h>

typedef struct {
  uint64_t state;
} Random;

static inline uint64_t
random_next(Random* const random)
{
  uint64_t z = (random->state += UINT64_C(0x9E3779B97F4A7C15));
  z = (z ^ (z >> 30u)) * UINT64_C(0xBF58476D1CE4E5B9);
  z = (z ^ (z >> 27u)) * UINT64_C(0x94D049BB133111EB);
  return z ^ (z >> 31u);
}

/// From 0 to before 1.
static inline double
random_unit(Random* const random)
{
  return (double)(random_next(random) >> 11u) / 9007199254740992.0;
}

static inline double
random_between(Random* const random, const double least, const double most)
{
  return least + (most - least) * random_unit(random);
}

/// Normal distribution (Box and Muller 1958).
static inline double
random_normal(Random* const random)
{
  const double a = 1.0 - random_unit(random);
  const double b = random_unit(random);
  return sqrt(-2.0 * log(a)) * cos(2.0 * M_PI * b);
}

#endif // TEST_RANDOM_H
