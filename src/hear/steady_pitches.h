// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file steady_pitches.h
   Which pitches sound in a range of frames, and whether they are steady: only then the noise
   between their harmonics can be measured.
*/

#ifndef SR_HEAR_STEADY_PITCHES_H
#define SR_HEAR_STEADY_PITCHES_H

#include "inter_harmonic_noise.h"
#include "sound_finder.h"

#include <stdbool.h>
#include <stdint.h>

/// What sounds in a range of frames.
typedef enum {
  SR_UNSTEADY,    ///< Something begins, ends or changes
  SR_STEADY_NOTE, ///< Steady notes
  SR_STEADY_GAP   ///< Nothing but what dies away
} SrSteadiness;

/**
   The pitches of a range of frames, and whether they are steady.

   @param sounds  Has the activations of the range in its memory.
   @param doubled Whether notes are doubled an octave below.
   @param first   First frame,
   @param last    and last.
   @param pitches Receives the pitches.
*/
SrSteadiness sr_steady_pitches(const SrSoundFinder* sounds, bool doubled, int64_t first,
                               int64_t last, SrInterHarmonicPitches* pitches);

#endif // SR_HEAR_STEADY_PITCHES_H
