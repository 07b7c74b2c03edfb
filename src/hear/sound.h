// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file sound.h
   From activations to sounds: when each reed starts, falls, speaks again and ends.
   Works frame by frame with a bounded look back, so that it serves live too.
*/

#ifndef SR_HEAR_SOUND_H
#define SR_HEAR_SOUND_H

#include "activation.h"

#include <stdint.h>

/// Frames of activations that are remembered: 1 s.
#define SR_SOUND_MEMORY 512u

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
/// The sounds noticed for `least_seen_s` that are not over, as they look now; no sound is changed
/// by it. Returns how many.
size_t sr_sound_finder_open(SrSoundFinder* finder, double least_seen_s, SrOpenSound* open,
                            size_t room);
/// Frames taken so far; frame i is centred i times sr_sound_finder_frame_s() into the take.
int64_t sr_sound_finder_frames(const SrSoundFinder* finder);
/// Time from one frame to the next, s.
double sr_sound_finder_frame_s(const SrSoundFinder* finder);
/// How much of a reed each frame of the last second held, as activations: frame i at i modulo
/// SR_SOUND_MEMORY, for the last SR_SOUND_MEMORY frames taken; those before the take's first are 0.
/// Where frames not yet taken will lie, there still is what was a second ago.
const float* sr_sound_finder_amounts(const SrSoundFinder* finder, size_t pitch);
/// The pitches of which it held anything: bit i for pitch i.
uint64_t sr_sound_finder_sounding(const SrSoundFinder* finder, int64_t frame);
/// The loudest recent one, as an activation.
float sr_sound_finder_loudness(const SrSoundFinder* finder);
/// Whether a pitch's octave below, itself not written, sounded with it in the half second before a
/// frame.
bool sr_sound_finder_octave_below(const SrSoundFinder* finder, size_t pitch, int64_t frame);
/// Put what was learnt of the room's tail and the reeds' attacks into a profile.
void sr_sound_finder_learnt(const SrSoundFinder* finder, SrProfile* profile);

#endif // SR_HEAR_SOUND_H
