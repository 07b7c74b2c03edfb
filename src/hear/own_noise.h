// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file own_noise.h
   Expected noise without air: the room's floor, and each reed's own noise, some 40 dB below its
   tone. Both are low quantiles, so that a release of air hardly affects them.
*/

#ifndef SR_HEAR_OWN_NOISE_H
#define SR_HEAR_OWN_NOISE_H

#include "profile.h"

/// Windows over which a floor's quantile is taken: longer than any release.
#define SR_FLOOR_WINDOWS 128u

/// The noise of the last windows; zero-initialised, there are none.
typedef struct {
  float noise[SR_FLOOR_WINDOWS][SR_BANDS];
  size_t count;    ///< Number added in total
  size_t measured; ///< `count` when `floor` was computed
  float floor[SR_BANDS];
} SrFloor;

/// Add a window's noise, SR_BANDS mean squares.
void sr_floor_add(SrFloor* floor, const float* noise);
/**
   The steady noise, SR_BANDS mean squares; NULL if too few windows were added.

   @param notes The windows had notes, and so may contain more air.
*/
const float* sr_floor_of(SrFloor* floor, bool notes);

typedef struct SrOwnNoiseImpl SrOwnNoise;

/// Make one with typical values; NULL if out of memory.
SrOwnNoise* sr_own_noise_new(void);
/// Free; NULL is allowed.
void sr_own_noise_del(SrOwnNoise* own);
/**
   Expected noise of a reed.

   @param pitch    From SR_LOWEST_MIDI.
   @param power    Mean square of the note.
   @param expected Receives mean squares, SR_BANDS.
*/
void sr_own_noise_expect(SrOwnNoise* own, size_t pitch, double power, float* expected);
/**
   Median own noise of all reeds.

   @param level Receives powers relative to the tone, SR_BANDS.
   @return False if too few notes were heard.
*/
bool sr_own_noise_median(const SrOwnNoise* own, float* level);
/**
   Learn from a window, arguments as above.

   @param time_s Its time; windows come in order.
   @param noise  Noise measured.
   @param floor  The room's part of it; NULL if unknown.
*/
void sr_own_noise_learn(SrOwnNoise* own, size_t pitch, double time_s, double power,
                        const float* noise, const float* floor);

#endif // SR_HEAR_OWN_NOISE_H
