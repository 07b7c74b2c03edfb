// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file windowed.h
   What is done before and after each short transform.
*/

#ifndef SR_HEAR_WINDOWED_H
#define SR_HEAR_WINDOWED_H

#include <fftw3.h>

#include <stddef.h>

/// Sample `n` of a Hann window of `size` samples, which is symmetrical and nowhere 0.
double sr_hann(size_t n, size_t size);
/// Multiply samples by a window.
void sr_windowed(const float* samples, const float* window, size_t count, float* to);
/// The magnitudes of some bins.
void sr_magnitudes(fftwf_complex* bins, size_t count, float* magnitudes);

#endif // SR_HEAR_WINDOWED_H
