// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transients.h
   What is short in a recording, such as a click, without what lasts, such as a note: each bin of
   the spectrum counts by how far it stands out of what it was a moment before and is a moment
   later, whichever is more.
*/

#ifndef SR_HEAR_TRANSIENTS_H
#define SR_HEAR_TRANSIENTS_H

#include <stdbool.h>
#include <stddef.h>

typedef struct SrTransientsImpl SrTransients;

/// For samples at 16000 to 192000 Hz; `most_s` is how much is kept at most. NULL without memory.
SrTransients* sr_transients_new(double rate_hz, double most_s);
/// Free; NULL does nothing.
void sr_transients_del(SrTransients* transients);
/// Push samples; what is no number counts as 0. False without memory.
bool sr_transients_push(SrTransients* transients, const float* samples, size_t count);
/// No more samples: bring out what is still under way. False without memory.
bool sr_transients_finish(SrTransients* transients);
/// What came out, at sr_transients_rate_hz(); its sample 0 is the first that was pushed.
const float* sr_transients_samples(const SrTransients* transients, size_t* count);
/// Their sample rate, Hz: that of the samples pushed if that is under 32000, else a half, a quarter
/// … of it, 16000 or more but under 32000.
double sr_transients_rate_hz(const SrTransients* transients);
/**
   The magnitudes of the spectrum at a moment, with notes and all.

   @param at_s Seconds from the first sample.
   @param bins Receives their number.
   @return NULL if nothing is kept of that moment.
*/
const float* sr_transients_spectrum(const SrTransients* transients, double at_s, size_t* bins);

#endif // SR_HEAR_TRANSIENTS_H
