// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file place.h
   Where to begin so that windows come to lie on a given sample.
*/

#ifndef SR_HEAR_PLACE_H
#define SR_HEAR_PLACE_H

#include <stddef.h>
#include <stdint.h>

/// Samples to leave out so that one of the windows that begin every `period` samples begins at
/// `sample`; under `period`.
static inline size_t
sr_place(const int64_t sample, const size_t period)
{
  const int64_t rest = sample % (int64_t)period;
  return (size_t)(rest < 0 ? rest + (int64_t)period : rest);
}

#endif // SR_HEAR_PLACE_H
