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
/**
   Mean correlations at periods and their multiples, as far as there are lags, weighted by the
   square root of their number.

   @param from  Samples, the first period; each is longer than the last one by the
                CLICK_FINDER_STEPSth part of a sample.
   @param to    Samples, beyond the last period.
   @param combs Receives CLICK_FINDER_STEPS values for each sample.
*/
void sr_recurrence_combs(const float* correlation, size_t lags, size_t from, size_t to,
                         float* combs);
/**
   Where in a period the sounds may lie that recur with it.

   @param period  Samples, a multiple of the CLICK_FINDER_STEPSth part of one.
   @param rate_hz Of the block.
   @param phases  Receives up to CLICK_FINDER_PHASES of them, samples, the clearest first.
   @return Their number.
*/
size_t sr_recurrence_phases(const float* y, size_t count, double period, double rate_hz,
                            double* phases);

#endif // SR_HEAR_RECURRENCE_H
