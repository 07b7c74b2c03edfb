// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file own_noise.h
   What noise is to be expected without any air: the room's floor, and what each reed
   makes of its own, some 40 dB under its tone. Both are learnt as a take goes on, as low
   quantiles, so that a release of air hardly counts.
*/

#ifndef SR_HEAR_OWN_NOISE_H
#define SR_HEAR_OWN_NOISE_H

#include "profile.h"

typedef struct SrOwnNoiseImpl SrOwnNoise;

/// Make one that knows what is usual; NULL without memory.
SrOwnNoise* sr_own_noise_new(void);
/// Free; NULL does nothing.
void sr_own_noise_del(SrOwnNoise* own);
/// Whether the room has been heard alone.
bool sr_own_noise_knows_floor(const SrOwnNoise* own);
/**
   Noise to be expected.

   @param pitch    From SR_LOWEST_MIDI; SR_PITCHES for none.
   @param power    Mean square of the note.
   @param expected Receives mean squares, SR_BANDS.
*/
void sr_own_noise_expect(const SrOwnNoise* own, size_t pitch, double power, float* expected);
/**
   Learn from noise measured, arguments as above.

   @param doubtful It may be air: learn little.
*/
void sr_own_noise_learn(SrOwnNoise* own, size_t pitch, double power, const float* noise,
                        bool doubtful);

#endif // SR_HEAR_OWN_NOISE_H
