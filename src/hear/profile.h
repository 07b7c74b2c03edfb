// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file profile.h
   Contents of a profile, for this module.
*/

#ifndef SR_HEAR_PROFILE_H
#define SR_HEAR_PROFILE_H

#include "frame.h"

#include <steadyreed/hear.h>

/// Harmonics kept per reed.
#define SR_HARMONICS 32u
/// Pitches listened for.
#define SR_PITCHES ((size_t)(SR_HIGHEST_MIDI - SR_LOWEST_MIDI + 1))
/// Points of the noise floor, from 0 Hz in steps of SR_FLOOR_STEP_HZ.
#define SR_FLOOR_POINTS 122u
#define SR_FLOOR_STEP_HZ 50.0

/// Frames of the room's tail that are kept: 0.12 s.
#define SR_TAIL_FRAMES 60

/// One reed.
typedef struct {
  bool learnt;
  bool doubled; ///< Its template includes the octave below: the harmonics are those of the octave
  float cents;  ///< From equal temperament on the reference
  float weight; ///< How long it was heard, s
  double lag_frames; ///< From its onset to half its level, 0 if unknown
  double lag_count;  ///< Number of starts behind `lag_frames`; less for a start in a tail
  float amplitude[SR_HARMONICS]; ///< Of each harmonic; the sum is 1
} SrReed;

struct SrProfileImpl {
  double reference_hz;
  bool doubled;     ///< Notes are doubled an octave below
  bool accompanied; ///< There may be sounds below the melody, so octaves are not folded
  SrReed reeds[SR_PITCHES];
  double tail_db[SR_TAIL_FRAMES]; ///< Fall of a released reed, by frames since the release
  float own_tail_db[SR_PITCHES][SR_TAIL_FRAMES]; ///< The same for each reed
  float own_tail_count[SR_PITCHES];
  double tail_count;            ///< Number of releases behind `tail_db`
  float floor[SR_FLOOR_POINTS]; ///< Median magnitude of the room in a frame (a sine of amplitude 1
                                ///< is 1)
};

/// Fundamental of a reed, Hz.
double sr_profile_frequency_hz(const SrProfile* profile, size_t pitch);

/**
   Give each reed that was not learnt the spectral envelope of the nearest one that was, or that of
   an average free reed if none was.
*/
void sr_profile_fill(SrProfile* profile);

/**
   Templates on a grid: for each pitch the magnitudes of a frame, their sum 1.

   @param templates Receives SR_PITCHES rows of grid->padded floats.
*/
void sr_profile_templates(const SrProfile* profile, const SrFrameGrid* grid, float* templates);

/**
   The template of the upper reed alone of a pitch whose reed is `doubled`: it speaks before the
   lower one, and cuts are not doubled.

   @param row Receives grid->padded floats.
*/
void sr_profile_upper_template(const SrProfile* profile, const SrFrameGrid* grid, size_t pitch,
                               float* row);

/// The noise floor on a grid, `grid->padded` floats, at least a small positive value, in the
/// padding too.
void sr_profile_floor(const SrProfile* profile, const SrFrameGrid* grid, float* floor);

#endif // SR_HEAR_PROFILE_H
