// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file plans.h
   The table of takes on which accuracy is measured.
*/

#ifndef TEST_PLANS_H
#define TEST_PLANS_H

#include "take_maker.h"

/// Takes on made and on recorded reeds.
#define MADE_TAKES 60u
#define RECORDED_TAKES 30u

/**
   Plan of take `index`.

   Each range is walked through evenly, each by another irrational step (Weyl 1916), so
   that all ranges are covered and mixed whatever the number of takes.

   @param recorded Recorded reeds instead of made ones.
   @param tune     Receives the X: number of its phrase in accuracy.abc.
*/
TakePlan plan_of(size_t index, bool recorded, int* tune);

#endif // TEST_PLANS_H
