// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file frame.h
   Short-time spectra: a window of 20 ms every 2 ms, magnitudes from 150 Hz to 6 kHz.
*/

#ifndef SR_HEAR_FRAME_H
#define SR_HEAR_FRAME_H

#include <stddef.h>

/// Window length, s.
#define SR_FRAME_WINDOW_S 0.020
/// Hop from frame to frame, s.
#define SR_FRAME_HOP_S 0.002
/// Lowest and highest frequency used, Hz.
#define SR_FRAME_LOW_HZ 145.0
#define SR_FRAME_HIGH_HZ 6050.0

/// Frame and bin layout at one analysis rate.
typedef struct {
  double rate_hz;
  size_t window;    ///< Samples
  size_t hop;       ///< Samples
  size_t first_bin; ///< Of the transform
  size_t bins;      ///< Number used
  size_t padded;    ///< `bins` rounded up to whole SIMD vectors
  double bin_hz;    ///< Width of a bin
} SrFrameGrid;

/// The grid for an analysis rate (14.7 to 29.4 kHz).
SrFrameGrid sr_frame_grid(double rate_hz);

/**
   Magnitude of the Hann window's transform at a distance from its centre, relative to its peak:
   |sinc(x) / (1 - x^2)|, x = distance_hz * seconds (Harris 1978).

   @param distance_hz Distance, Hz.
   @param seconds     Length of the window.
*/
double sr_frame_lobe(double distance_hz, double seconds);

typedef struct SrFramerImpl SrFramer;

/// Make one; NULL if out of memory.
SrFramer* sr_framer_new(const SrFrameGrid* grid);
/// Free; NULL is allowed.
void sr_framer_del(SrFramer* framer);
/**
   Transform one window.

   @param samples    `window` samples.
   @param magnitudes Receives `padded` magnitudes scaled so that a sine of amplitude 1 has a peak of
                     1; the padding is 0.
*/
void sr_framer_do(SrFramer* framer, const float* samples, float* magnitudes);
/// Complex value of a bin of the last transform, counted from the first one used, same scale.
void sr_framer_bin(const SrFramer* framer, size_t bin, float* real, float* imaginary);

#endif // SR_HEAR_FRAME_H
