// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air_lens.h
   Windows of one length, in which the noise between the harmonics is measured where the sounds are
   steady.
*/

#ifndef SR_HEAR_AIR_LENS_H
#define SR_HEAR_AIR_LENS_H

#include "air_run.h"
#include "inter_harmonic_noise.h"
#include "sound_finder.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Windows of one length.
typedef struct {
  SrInterHarmonic* between;
  double rate_hz;
  size_t size;   ///< Samples
  float* linear; ///< One window
  double weight; ///< Of one window
  bool brief;    ///< Short, for notes too short for the long ones
} SrAirLens;

/// The last samples, at the input rate.
typedef struct {
  float* ring;
  size_t size;     ///< Of the ring
  uint64_t pushed; ///< Samples put into it
} SrAirSamples;

/// Open one; false if out of memory. Close it in any case.
bool sr_air_lens_open(SrAirLens* lens, double rate_hz, double window_s, double weight);
/// Free what is in it; a zero-initialised one is allowed.
void sr_air_lens_close(SrAirLens* lens);
/// Keep samples.
void sr_air_samples_push(SrAirSamples* kept, const float* samples, size_t count);
/**
   Measure a window.

   @param samples Of the window, still kept.
   @param sounds  Found in it and just before.
   @param start   Its first sample.
   @param window  Receives what is known of it.
   @param measure Receives what was measured.
   @return False if impossible.
*/
bool sr_air_lens_measure(const SrAirLens* lens, const SrAirSamples* samples,
                         const SrProfile* profile, const SrSoundFinder* sounds, uint64_t start,
                         SrAirWindow* window, SrInterHarmonicMeasure* measure);

#endif // SR_HEAR_AIR_LENS_H
