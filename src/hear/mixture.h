// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file mixture.h
   Learns reeds that seldom sound alone, such as those of a melody with a left hand below it: by NMF
   of long spectra, in which only the strengths of each reed's harmonics are free (multiplicative
   updates for the generalised Kullback-Leibler divergence, Lee and Seung 2001).

   A reed that was heard alone and is written keeps its harmonics. Without MOST_OVER an octave or a
   twelfth above a bass would be learnt as part of it.
*/

#ifndef SR_HEAR_MIXTURE_H
#define SR_HEAR_MIXTURE_H

#include "profile.h"

#include <stdint.h>

/// Spectra of windows from all over a take.
typedef struct SrMixtureImpl SrMixture;

/**
   Make one.

   @param rate_hz Analysis rate.
   @param window  Samples of a window; even.
   @return NULL if out of memory.
*/
SrMixture* sr_mixture_new(double rate_hz, size_t window);
/// Free; NULL is allowed.
void sr_mixture_del(SrMixture* mixture);
/**
   Keep a window's spectrum; the longer the take, the fewer are kept.

   @param index      Of the window in the take.
   @param magnitudes From 0 Hz to half the rate, scaled as for frames.
*/
void sr_mixture_put(SrMixture* mixture, uint64_t index, const float* magnitudes);
/**
   Learn all reeds that sound in the spectra kept.

   @param expected Pitches of the phrase.
   @param profile  Its reference, and the reeds of the phrase that it has learnt, are kept; the
                   others are learnt again.
   @return SR_OK or SR_NO_MEMORY.
*/
SrStatus sr_mixture_learn(const SrMixture* mixture, const SrExpected* expected, SrProfile* profile);

#endif // SR_HEAR_MIXTURE_H
