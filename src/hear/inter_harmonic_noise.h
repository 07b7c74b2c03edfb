// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file between.h
   Listens between the harmonics: a reed's sound lies on them, and what lies between is
   noise, of the reed itself, the room or the air button. Long windows, so that there is a
   between even for low notes.
*/

#ifndef SR_HEAR_BETWEEN_H
#define SR_HEAR_BETWEEN_H

#include "profile.h"

/// Length of a window, s.
#define SR_BETWEEN_WINDOW_S 0.0853
/// … and of one where notes are too short for that, s.
#define SR_BETWEEN_SHORT_S (0.5 * SR_BETWEEN_WINDOW_S)
/// Most pitches that sound in one window.
#define SR_BETWEEN_PITCHES 12u

typedef struct SrBetweenImpl SrBetween;

/// What sounds in a window.
typedef struct {
  size_t count;
  size_t pitch[SR_BETWEEN_PITCHES]; ///< From SR_LOWEST_MIDI
  size_t main_count;                ///< The first so many are notes, the rest dies away
} SrBetweenPitches;

/// What a window holds. Powers are mean squares; a full-scale sine has 0.5.
typedef struct {
  double frequency_hz;   ///< Of the lowest main pitch, as measured here; NAN without one
  double power;          ///< All that lies on harmonics
  float tone[SR_BANDS];  ///< … in each critical band
  float noise[SR_BANDS]; ///< Noise in each critical band, filled in where no bin is free
  float place[SR_BANDS]; ///< Where in a band its tones lie: their mean frequency, Hz
  double free_share;     ///< Share of the bins that are free of harmonics
  double other_power;    ///< Of other tones among the free bins from 500 Hz to 3 kHz
  double peak_ratio; ///< Mean over median-like mean of the free bins from 500 Hz to 3 kHz: about
                     ///< 1 for noise, more if other tones are there
} SrBetweenMeasure;

/**
   Make one.

   @param rate_hz  Sample rate.
   @param window_s Length of its windows: SR_BETWEEN_WINDOW_S or less, s.
   @return NULL without memory.
*/
SrBetween* sr_between_new(double rate_hz, double window_s);
/// Free; NULL does nothing.
void sr_between_del(SrBetween* between);
/// Samples of a window.
size_t sr_between_size(const SrBetween* between);
/**
   Measure a window.

   @param samples  sr_between_size() samples.
   @param profile  Where the reeds lie.
   @param pitches  What sounds.
   @return false if hardly a bin is free.
*/
bool sr_between_measure(SrBetween* between, const float* samples, const SrProfile* profile,
                        const SrBetweenPitches* pitches, SrBetweenMeasure* measure);
/**
   The window just measured without all that lies on harmonics, 1 to 9.5 kHz.

   @return sr_between_size() samples under Hann's window; good until the next call.
*/
const float* sr_between_rest(SrBetween* between);
/// Hann's window itself, sr_between_size() samples.
const float* sr_between_window(const SrBetween* between);

#endif // SR_HEAR_BETWEEN_H
