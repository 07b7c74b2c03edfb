// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file sound_finder.h
   From activations to sounds: when each reed starts, falls, re-attacks and ends. Works frame by
   frame with a bounded history, so it is also used live.
*/

#ifndef SR_HEAR_SOUND_FINDER_H
#define SR_HEAR_SOUND_FINDER_H

#include "activation.h"

#include <stdint.h>

/// Frames of activations that are kept: 1 s.
#define SR_SOUND_MEMORY 512u

typedef struct SrSoundFinderImpl SrSoundFinder;

/// Make one; NULL if out of memory. `expected` may be NULL.
SrSoundFinder* sr_sound_finder_new(const SrProfile* profile, const SrFrameGrid* grid,
                                   const SrExpected* expected);
/// Free; NULL is allowed.
void sr_sound_finder_del(SrSoundFinder* finder);
/**
   Process the next frame.

   @param frame      Its activations.
   @param magnitudes Its magnitudes, grid->padded floats.
   @param framer     Its transform, for measuring frequencies, at the end of each block; NULL
                     otherwise.
*/
void sr_sound_finder_do(SrSoundFinder* finder, const SrActivationFrame* frame,
                        const float* magnitudes, const SrFramer* framer);
/// End all open sounds.
void sr_sound_finder_finish(SrSoundFinder* finder);
/// Whether a sound was lost for want of memory.
bool sr_sound_finder_lost(const SrSoundFinder* finder);
/// Take the next sound that has ended; false if there is none.
bool sr_sound_finder_pull(SrSoundFinder* finder, SrEvent* event);
/// The open sounds detected for at least `least_seen_s`, in their present state; none is changed.
/// Returns their number.
size_t sr_sound_finder_open(SrSoundFinder* finder, double least_seen_s, SrOpenSound* open,
                            size_t room);
/// Frames processed; frame i is centred at i times sr_sound_finder_frame_s() in the take.
int64_t sr_sound_finder_frames(const SrSoundFinder* finder);
/// Time from frame to frame, s.
double sr_sound_finder_frame_s(const SrSoundFinder* finder);
/// Activations of a reed over the last SR_SOUND_MEMORY frames: frame i at i modulo SR_SOUND_MEMORY,
/// 0 before the first one. The slots of frames to come still hold those of a second ago.
const float* sr_sound_finder_amounts(const SrSoundFinder* finder, size_t pitch);
/// The pitches with an activation in a frame: bit i for pitch i.
uint64_t sr_sound_finder_sounding(const SrSoundFinder* finder, int64_t frame);
/// Recent maximum of the loudness, as an activation.
float sr_sound_finder_loudness(const SrSoundFinder* finder);
/// Whether a pitch's octave below, itself not written, sounded with it in the half second before a
/// frame.
bool sr_sound_finder_octave_below(const SrSoundFinder* finder, size_t pitch, int64_t frame);
/// Put what was learnt of the room's tail and the reeds' attacks into a profile.
void sr_sound_finder_learnt(const SrSoundFinder* finder, SrProfile* profile);

#endif // SR_HEAR_SOUND_FINDER_H
