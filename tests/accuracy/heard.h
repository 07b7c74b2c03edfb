// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file heard.h
   A take through the whole engine, as `assess` does it.
*/

#ifndef TEST_HEARD_H
#define TEST_HEARD_H

#include "take_maker.h"

/// Everything heard and judged of a take.
typedef struct {
  SrEvent* events;
  size_t event_count;
  SrAirHeard* airs;
  size_t air_count;
  SrAssessment* assessment; ///< NULL if it could not be judged
  SrError error;
} HeardTake;

/// Hear and judge.
HeardTake heard_take(const SrPhrase* phrase, const Take* take);
/// Free what it holds.
void heard_free(HeardTake* heard);

#endif // TEST_HEARD_H
