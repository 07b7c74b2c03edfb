// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file simd.h
   SIMD vectors of eight floats by the compiler's vector type, so that the sums in hot loops have
   one fixed order: the same samples give the same events whatever the chunk size and the optimiser.
*/

#ifndef SR_HEAR_SIMD_H
#define SR_HEAR_SIMD_H

#include "../hot.h"

#include <stdlib.h>
#include <string.h>

/// Floats per SIMD vector.
#define SR_VECTOR_SIZE 8u

/// A SIMD vector of eight floats.
typedef float SrVector __attribute__((vector_size(32)));

/// A vector of eight equal floats, named eight times: where floats are computed with excess
/// precision (x87), gcc does not multiply a vector by a float.
#define SR_VECTOR_OF(x) ((SrVector){(x), (x), (x), (x), (x), (x), (x), (x)})

/// The eight of a vector, or the four of half of one, in another order.
#if defined(__clang__) || __GNUC__ >= 12
#define SR_VECTOR_PERMUTED(v, ...) __builtin_shufflevector((v), (v), __VA_ARGS__)
#define SR_HALF_PERMUTED(v, ...) __builtin_shufflevector((v), (v), __VA_ARGS__)
#else
typedef int SrVectorPlaces __attribute__((vector_size(32)));
typedef int SrHalfPlaces __attribute__((vector_size(16)));
#define SR_VECTOR_PERMUTED(v, ...) __builtin_shuffle((v), (SrVectorPlaces){__VA_ARGS__})
#define SR_HALF_PERMUTED(v, ...) __builtin_shuffle((v), (SrHalfPlaces){__VA_ARGS__})
#endif

/// Round a count of floats up to whole vectors.
static inline size_t
sr_vector_padded(const size_t count)
{
  return (count + (SR_VECTOR_SIZE - 1u)) / SR_VECTOR_SIZE * SR_VECTOR_SIZE;
}

/// Half a SIMD vector.
typedef float SrHalfVector __attribute__((vector_size(16)));

/// Sum of the eight: ((0 + 4) + (2 + 6)) + ((1 + 5) + (3 + 7)).
SR_PART float
sr_vector_sum(const SrVector* const vectors)
{
  SrHalfVector halves[2];
  memcpy(halves, vectors, sizeof(halves));
  const SrHalfVector fours = halves[0] + halves[1];
  const SrHalfVector twos = fours + SR_HALF_PERMUTED(fours, 2, 3, 0, 1);
  return twos[0] + twos[1];
}

/// Sum of an array of whole vectors.
SR_PART float
sr_vector_total(const float* const values, const size_t padded)
{
  const SrVector* const vectors = (const SrVector*)(const void*)values;
  SrVector sum = {0};
  for (size_t i = 0; i < padded / SR_VECTOR_SIZE; ++i) {
    sum += vectors[i];
  }
  return sr_vector_sum(&sum);
}

/// A zeroed array of floats, padded and aligned for SrVector; free() it. NULL if out of memory.
static inline float*
sr_vector_new(const size_t count)
{
  const size_t bytes = sr_vector_padded(count ? count : 1u) * sizeof(float);
  float* const array = (float*)aligned_alloc(sizeof(SrVector), bytes);
  if (array) {
    memset(array, 0, bytes);
  }
  return array;
}

#endif // SR_HEAR_SIMD_H
