// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file recurrence.h
   What recurs in a block of a recording with one period.
*/

#ifndef SR_HEAR_RECURRENCE_H
#define SR_HEAR_RECURRENCE_H

#include <stdbool.h>
#include <stddef.h>

/**
   Correlate a block with itself.

   @param out Receives `lags` values relative to the first.
   @return False if out of memory or silent.
*/
bool sr_recurrence(const float* y, size_t count, float* out, size_t lags);
/// Mean correlation at a period and its multiples, as far as there are lags, weighted by the square
/// root of their number.
float sr_recurrence_comb(const float* correlation, size_t lags, double period);
/**
   Where in a period the sounds may lie that recur with it.

   @param period  Samples.
   @param rate_hz Of the block.
   @param phases  Receives up to CLICK_FINDER_PHASES of them, samples, the clearest first.
   @return Their number.
*/
size_t sr_recurrence_phases(const float* y, size_t count, double period, double rate_hz,
                            double* phases);

#endif // SR_HEAR_RECURRENCE_H
