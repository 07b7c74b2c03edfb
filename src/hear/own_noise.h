// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file own_noise.h
   What noise is to be expected without any air: the room's floor, and what each reed makes of its
   own, some 40 dB under its tone. Both are low quantiles, so that a release of air hardly counts.
*/

#ifndef SR_HEAR_OWN_NOISE_H
#define SR_HEAR_OWN_NOISE_H

#include "profile.h"

/// Windows of which a floor is the low quantile: longer than any release.
#define SR_FLOOR_WINDOWS 128u

/// The noise of the last windows; zeroed, there are none.
typedef struct {
  float noise[SR_FLOOR_WINDOWS][SR_BANDS];
  size_t count;    ///< Of all that were added
  size_t measured; ///< … when `floor` was measured
  float floor[SR_BANDS];
} SrFloor;

/// Add a window's noise, SR_BANDS mean squares.
void sr_floor_add(SrFloor* floor, const float* noise);
/**
   The noise that was there all along, SR_BANDS mean squares; NULL if too few windows were added.

   @param notes They had notes, and so may hold more air.
*/
const float* sr_floor_of(SrFloor* floor, bool notes);

typedef struct SrOwnNoiseImpl SrOwnNoise;

/// Make one that knows what is usual; NULL without memory.
SrOwnNoise* sr_own_noise_new(void);
/// Free; NULL does nothing.
void sr_own_noise_del(SrOwnNoise* own);
/**
   Noise to be expected of a reed.

   @param pitch    From SR_LOWEST_MIDI.
   @param power    Mean square of the note.
   @param expected Receives mean squares, SR_BANDS.
*/
void sr_own_noise_expect(const SrOwnNoise* own, size_t pitch, double power, float* expected);
/**
   What all reeds have by themselves, the median.

   @param level Receives powers against the tone's, SR_BANDS.
   @return false if too few notes were heard to tell.
*/
bool sr_own_noise_median(const SrOwnNoise* own, float* level);
/**
   Learn from a window, arguments as above.

   @param time_s Its time; windows come in order.
   @param noise  Noise measured.
   @param floor  What of that is the room's; NULL if not known.
*/
void sr_own_noise_learn(SrOwnNoise* own, size_t pitch, double time_s, double power,
                        const float* noise, const float* floor);

#endif // SR_HEAR_OWN_NOISE_H
