// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file frame.h
   Short spectra: a window of 20 ms every 2 ms, magnitudes from 150 Hz to 6 kHz.
*/

#ifndef SR_HEAR_FRAME_H
#define SR_HEAR_FRAME_H

#include <stddef.h>

/// Length of a window, s.
#define SR_FRAME_WINDOW_S 0.020
/// Time from one frame to the next, s.
#define SR_FRAME_HOP_S 0.002
/// Lowest and highest frequency used, Hz.
#define SR_FRAME_LOW_HZ 145.0
#define SR_FRAME_HIGH_HZ 6050.0

/// Where frames and bins lie at one analysis rate.
typedef struct {
  double rate_hz;
  size_t window;    ///< Samples
  size_t hop;       ///< Samples
  size_t first_bin; ///< Of the transform
  size_t bins;      ///< Used ones
  size_t padded;    ///< `bins` rounded up to whole vectors
  double bin_hz;    ///< Width of a bin
} SrFrameGrid;

/// The grid for an analysis rate (14.7 to 29.4 kHz).
SrFrameGrid sr_frame_grid(double rate_hz);

/**
   Magnitude of the window's transform at a distance from its centre, against its peak.

   @param distance_hz  Distance, Hz.
   @param seconds      Length of the window.
   For Hann's window: |sinc(x) / (1 - x^2)|, x = distance_hz * seconds (Harris 1978).
*/
double sr_frame_lobe(double distance_hz, double seconds);

typedef struct SrFramerImpl SrFramer;

/// Make one; NULL without memory.
SrFramer* sr_framer_new(const SrFrameGrid* grid);
/// Free; NULL does nothing.
void sr_framer_del(SrFramer* framer);
/**
   Transform one window.

   @param samples    `window` samples.
   @param magnitudes Receives `padded` magnitudes scaled so that a sine of amplitude 1
                     has a peak of 1; the padding is 0.
*/
void sr_framer_do(SrFramer* framer, const float* samples, float* magnitudes);
/// The complex bin `bin` of the last transform (from the first one used), same scale.
void sr_framer_bin(const SrFramer* framer, size_t bin, float* real, float* imaginary);

#endif // SR_HEAR_FRAME_H
