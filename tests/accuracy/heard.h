// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file heard.h
   A take through the whole engine, as `assess` does it.
*/

#ifndef TEST_HEARD_H
#define TEST_HEARD_H

#include "take_maker.h"

#include <stdint.h>

/// Everything heard and judged of a take.
typedef struct {
  SrEvent* events;
  size_t event_count;
  SrAirHeard* airs;
  size_t air_count;
  SrAssessment* assessment; ///< NULL if it could not be judged
  SrError error;
} HeardTake;

/// A take being read from its memory.
typedef struct {
  const Take* take;
  size_t at;
} TakeReading;

/// Read on in a TakeReading, as an SrTakeSource and an SrAudioSource do.
size_t take_read_on(void* reading, float* samples, size_t count);

/// Hear and judge.
HeardTake heard_take(const SrPhrase* phrase, const Take* take);
/// The same with the windows laid by a sample of its own, to compare takes that differ elsewhere.
HeardTake heard_take_laid(const SrPhrase* phrase, const Take* take, int64_t sample);
/// The loudest sample, by which the windows are laid else.
int64_t heard_loudest(const Take* take);
/// Free what it holds.
void heard_free(HeardTake* heard);

#endif // TEST_HEARD_H
