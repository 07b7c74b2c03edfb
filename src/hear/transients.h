// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transients.h
   Transients of a recording, such as clicks, without sustained sounds, such as notes: each bin of
   the spectrum counts by how far it exceeds what it was a moment before and is a moment later,
   whichever is more.
*/

#ifndef SR_HEAR_TRANSIENTS_H
#define SR_HEAR_TRANSIENTS_H

#include <stddef.h>

typedef struct SrTransientsImpl SrTransients;

/// For samples at 16000 to 192000 Hz; at most `most_s` is kept. NULL if out of memory.
SrTransients* sr_transients_new(double rate_hz, double most_s);
/// Free; NULL is allowed.
void sr_transients_del(SrTransients* transients);
/// Push samples; NAN counts as 0.
void sr_transients_push(SrTransients* transients, const float* samples, size_t count);
/// End of the samples: output what is pending.
void sr_transients_finish(SrTransients* transients);
/// The output, at sr_transients_rate_hz(); its sample 0 is the first that was pushed.
const float* sr_transients_samples(const SrTransients* transients, size_t* count);
/// The output rate, Hz: the input rate if under 32000, otherwise a half, a quarter ... of it, 16000
/// or more but under 32000.
double sr_transients_rate_hz(const SrTransients* transients);
/**
   The magnitude spectrum at a time, sustained sounds included.

   @param at_s Seconds from the first sample.
   @param bins Receives their number.
   @return NULL if nothing is kept of that time.
*/
const float* sr_transients_spectrum(const SrTransients* transients, double at_s, size_t* bins);

#endif // SR_HEAR_TRANSIENTS_H
