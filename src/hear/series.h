// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file series.h
   The harmonic series in a long spectrum: the one that explains its peaks best.
*/

#ifndef SR_HEAR_SERIES_H
#define SR_HEAR_SERIES_H

#include "profile.h"

#include <stdbool.h>

/// A harmonic series.
typedef struct {
  double frequency; ///< Of its fundamental, Hz
  double share;     ///< Of the peaks' amplitude
  float amplitude[SR_HARMONICS];
} SrSeries;

/**
   Find the series that explains a spectrum best.

   @param magnitude Magnitudes, as far as the bin after SR_FRAME_HIGH_HZ.
   @param bin_hz    Distance of the bins.
   @param best      Receives the series; unchanged if there is none.
   @return Whether there is one.
*/
bool sr_series_find(const float* magnitude, double bin_hz, SrSeries* best);
/**
   How much a series looks like a melody note with its octave below: the odd harmonics belong to the
   lower reed alone, and its even ones are interpolated between them; the rest of the even ones
   belongs to the upper reed.

   @return That rest, as a share of the even ones.
*/
double sr_series_upper_share(const SrSeries* series);

#endif // SR_HEAR_SERIES_H
