// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file larger.h
   The larger and the smaller of two floats in hot loops. Unlike fmaxf() and fminf(), which are
   calls, these do not look for NaN.
*/

#ifndef SR_HEAR_LARGER_H
#define SR_HEAR_LARGER_H

#include "../hot.h"

/// The larger of two; the second if one is NaN.
SR_PART float
sr_larger(const float a, const float b)
{
  return a > b ? a : b;
}

/// The smaller of two; the second if one is NaN.
SR_PART float
sr_smaller(const float a, const float b)
{
  return a < b ? a : b;
}

#endif // SR_HEAR_LARGER_H
