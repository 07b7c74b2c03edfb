// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file decimator.h
   Brings any sample rate down to the analysis rate: 14.7 kHz up to twice that,
   by a whole factor. Flat to 6.1 kHz within 0.01 dB; what would fold back below
   that is 65 dB down.
*/

#ifndef SR_HEAR_DECIMATOR_H
#define SR_HEAR_DECIMATOR_H

#include <stdbool.h>
#include <stddef.h>

typedef struct SrDecimatorImpl SrDecimator;

/// Make one for `rate_hz`; NULL without memory.
SrDecimator* sr_decimator_new(double rate_hz);
/// Free; NULL does nothing.
void sr_decimator_del(SrDecimator* decimator);
/// Samples of input for one of output.
size_t sr_decimator_factor(const SrDecimator* decimator);
/// Rate of the output, Hz.
double sr_decimator_rate_hz(const SrDecimator* decimator);
/// Most samples that pushing `count` can give.
size_t sr_decimator_most(const SrDecimator* decimator, size_t count);
/**
   Push samples and get what is ready. Output m stands for input sample
   m * factor: the filter's delay is taken out.

   @param output Room for sr_decimator_most(count) samples.
   @return Samples written.
*/
size_t sr_decimator_push(SrDecimator* decimator, const float* input, size_t count, float* output);
/// Push zeros until the last input sample has come through; as above, room for
/// sr_decimator_most(0).
size_t sr_decimator_finish(SrDecimator* decimator, float* output);

#endif // SR_HEAR_DECIMATOR_H
