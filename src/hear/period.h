// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file period.h
   Period of a window by aubio's YIN (de Cheveigné and Kawahara 2002): evidence on the octave of a
   sound that is independent of reeds and spectra.
*/

#ifndef SR_HEAR_PERIOD_H
#define SR_HEAR_PERIOD_H

#include <stddef.h>

typedef struct SrPeriodImpl SrPeriod;

/**
   Make one; NULL if out of memory.

   @param rate_hz Of the samples.
   @param count   Samples in a window; the largest power of two within it is used.
*/
SrPeriod* sr_period_new(double rate_hz, size_t count);
/// Free; NULL is allowed.
void sr_period_del(SrPeriod* period);
/// Frequency of the period of the window's first samples, Hz; 0 if none.
double sr_period_hz(SrPeriod* period, const float* samples);

#endif // SR_HEAR_PERIOD_H
