// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file mixture.h
   Learns reeds that seldom sound alone, such as those of a melody with a left hand
   below it: by non-negative factorisation of long spectra, in which each reed may
   change its harmonics' strengths and nothing else (multiplicative updates of the
   generalised Kullback-Leibler divergence, Lee and Seung 2001).
*/

#ifndef SR_HEAR_MIXTURE_H
#define SR_HEAR_MIXTURE_H

#include "profile.h"

#include <stdint.h>

/// What sounded in a take: spectra of windows all over it.
typedef struct SrMixtureImpl SrMixture;

/**
   Make one.

   @param rate_hz Analysis rate.
   @param window  Samples of a window; even.
   @return NULL without memory.
*/
SrMixture* sr_mixture_new(double rate_hz, size_t window);
/// Free; NULL does nothing.
void sr_mixture_del(SrMixture* mixture);
/**
   Keep a window's spectrum; of a long take fewer, further apart.

   @param index      Of the window in the take.
   @param magnitudes From 0 Hz up to half the rate, scaled as frames are.
*/
void sr_mixture_put(SrMixture* mixture, uint64_t index, const float* magnitudes);
/**
   Learn all reeds that sound in what was kept.

   @param expected What the phrase has.
   @param profile  Its reference, and the phrase's reeds that it has learnt, are taken as they are;
                   the others are learnt again.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_mixture_learn(const SrMixture* mixture, const SrExpected* expected, SrProfile* profile);

#endif // SR_HEAR_MIXTURE_H
