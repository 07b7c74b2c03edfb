// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file decimator.h
   Decimates any sample rate by an integer factor to the analysis rate, 14.7 kHz up to twice that.
   Flat to 6.1 kHz within 0.01 dB; aliases below that are attenuated by 65 dB.
*/

#ifndef SR_HEAR_DECIMATOR_H
#define SR_HEAR_DECIMATOR_H

#include <stdbool.h>
#include <stddef.h>

typedef struct SrDecimatorImpl SrDecimator;

/// Make one for `rate_hz`; NULL if out of memory.
SrDecimator* sr_decimator_new(double rate_hz);
/// Free; NULL is allowed.
void sr_decimator_del(SrDecimator* decimator);
/// Input samples per output sample.
size_t sr_decimator_factor(const SrDecimator* decimator);
/// Output rate, Hz.
double sr_decimator_rate_hz(const SrDecimator* decimator);
/// Most output samples from pushing `count`.
size_t sr_decimator_most(const SrDecimator* decimator, size_t count);
/**
   Push samples and get the available output. Output m corresponds to input sample m * factor: the
   filter delay is compensated.

   @param output Room for sr_decimator_most(count) samples.
   @return Samples written.
*/
size_t sr_decimator_push(SrDecimator* decimator, const float* input, size_t count, float* output);
/// Flush with zeros until the last input sample has come through; needs room for
/// sr_decimator_most(0).
size_t sr_decimator_finish(SrDecimator* decimator, float* output);

#endif // SR_HEAR_DECIMATOR_H
