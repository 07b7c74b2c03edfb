// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file sound.h
   From activations to sounds: when each reed starts, falls, speaks again and ends.
   Works frame by frame with a bounded look back, so that it serves live too.
*/

#ifndef SR_HEAR_SOUND_H
#define SR_HEAR_SOUND_H

#include "activation.h"

typedef struct SrSoundFinderImpl SrSoundFinder;

/// Make one; NULL without memory. `expected` may be NULL.
SrSoundFinder* sr_sound_finder_new(const SrProfile* profile, const SrFrameGrid* grid,
                                   const SrExpected* expected);
/// Free; NULL does nothing.
void sr_sound_finder_del(SrSoundFinder* finder);
/**
   Take the next frame.

   @param frame      Its activations.
   @param magnitudes Its magnitudes, grid->padded floats.
   @param framer Its transform, for measuring frequencies, at the end of each stride; NULL
   elsewhere.
*/
void sr_sound_finder_do(SrSoundFinder* finder, const SrActivationFrame* frame,
                        const float* magnitudes, const SrFramer* framer);
/// End all that still sounds.
void sr_sound_finder_finish(SrSoundFinder* finder);
/// Whether a sound was lost for want of memory.
bool sr_sound_finder_lost(const SrSoundFinder* finder);
/// Take the next sound that has ended; false if there is none.
bool sr_sound_finder_pull(SrSoundFinder* finder, SrEvent* event);
/// Put what was learnt of the room's tail and the reeds' attacks into a profile.
void sr_sound_finder_learnt(const SrSoundFinder* finder, SrProfile* profile);

#endif // SR_HEAR_SOUND_H
