// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file period.h
   The period of a window of sound by aubio's YIN (de Cheveigné and Kawahara 2002): a witness of
   what octave a sound lies in that knows nothing of reeds or spectra.
*/

#ifndef SR_HEAR_PERIOD_H
#define SR_HEAR_PERIOD_H

#include <stddef.h>

typedef struct SrPeriodImpl SrPeriod;

/**
   Make one; NULL without memory.

   @param rate_hz Of the samples.
   @param count   Samples in a window; the largest power of two within it is looked at.
*/
SrPeriod* sr_period_new(double rate_hz, size_t count);
/// Free; NULL does nothing.
void sr_period_del(SrPeriod* period);
/// The frequency of which the window's first samples have the period, Hz; 0 if they have none.
double sr_period_hz(SrPeriod* period, const float* samples);

#endif // SR_HEAR_PERIOD_H
