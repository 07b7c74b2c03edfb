// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file inter_harmonic_noise.h
   Noise between the harmonics: a reed's tone lies on them, and what lies between is noise of the
   reed itself, the room or the air button. The windows are long enough to resolve the harmonics of
   low notes.
*/

#ifndef SR_HEAR_BETWEEN_H
#define SR_HEAR_BETWEEN_H

#include "profile.h"

/// Window length, s.
#define SR_INTER_HARMONIC_WINDOW_S 0.0853
/// The same for notes too short for that, s.
#define SR_INTER_HARMONIC_SHORT_S (0.5 * SR_INTER_HARMONIC_WINDOW_S)
/// Most pitches in one window.
#define SR_INTER_HARMONIC_PITCHES 12u

typedef struct SrInterHarmonicImpl SrInterHarmonic;

/// The pitches in a window.
typedef struct {
  size_t count;
  size_t pitch[SR_INTER_HARMONIC_PITCHES]; ///< From SR_LOWEST_MIDI
  size_t main_count; ///< The first ones, this many, are notes; the others die away
} SrInterHarmonicPitches;

/// Measurements of a window. Powers are mean squares; a full-scale sine has 0.5.
typedef struct {
  double frequency_hz;   ///< Of the lowest main pitch, as measured here; NAN without one
  double power;          ///< Of all harmonics
  float tone[SR_BANDS];  ///< The same in each critical band
  float noise[SR_BANDS]; ///< Noise in each critical band, interpolated where no bin is free
  float place[SR_BANDS]; ///< Mean frequency of the harmonics in each band, Hz
  double free_share;     ///< Share of the bins that are free of harmonics
  double other_power;    ///< Of other tones among the free bins from 500 Hz to 3 kHz
  double peak_ratio; ///< Mean of the free bins from 500 Hz to 3 kHz over their clipped mean: about
                     ///< 1 for noise, more with other tones
} SrInterHarmonicMeasure;

/**
   Make one.

   @param rate_hz  Sample rate.
   @param window_s Window length, SR_INTER_HARMONIC_WINDOW_S or less, s.
   @return NULL if out of memory.
*/
SrInterHarmonic* sr_inter_harmonic_new(double rate_hz, double window_s);
/// Free; NULL is allowed.
void sr_inter_harmonic_del(SrInterHarmonic* between);
/// Samples in a window.
size_t sr_inter_harmonic_size(const SrInterHarmonic* between);
/**
   Measure a window.

   @param samples sr_inter_harmonic_size() samples.
   @param profile Pitches of the reeds.
   @param pitches What sounds.
   @return False if too few bins are free.
*/
bool sr_inter_harmonic_measure(SrInterHarmonic* between, const float* samples,
                               const SrProfile* profile, const SrInterHarmonicPitches* pitches,
                               SrInterHarmonicMeasure* measure);
/**
   The window just measured without its harmonics, 1 to 9.5 kHz.

   @return sr_inter_harmonic_size() samples, Hann-windowed; valid until the next call.
*/
const float* sr_inter_harmonic_rest(SrInterHarmonic* between);
/// The Hann window itself, sr_inter_harmonic_size() samples.
const float* sr_inter_harmonic_window(const SrInterHarmonic* between);

#endif // SR_HEAR_BETWEEN_H
