// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file real_transform.h
   Fourier transforms of real samples by complex ones of half the size. FFTW does the same, but
   takes long to plan it, and without vectors the second half of the work takes as long as the
   first.
*/

#ifndef SR_HEAR_REAL_TRANSFORM_H
#define SR_HEAR_REAL_TRANSFORM_H

#include <fftw3.h>

#include <stddef.h>

typedef struct SrRealTransformImpl SrRealTransform;

/// Make one for a number of samples, a multiple of 8; NULL if out of memory.
SrRealTransform* sr_real_transform_new(size_t size);
/// Free; NULL is allowed.
void sr_real_transform_del(SrRealTransform* transform);
/// The samples: those to be transformed, or the result of sr_real_transform_back().
float* sr_real_transform_samples(const SrRealTransform* transform);
/// Transform the samples. `bins` receives `count` bins of the spectrum, 4 or more, from `low` on;
/// there are half as many as samples, and one.
void sr_real_transform_do(const SrRealTransform* transform, size_t low, size_t count,
                          fftwf_complex* bins);
/// Transform a whole spectrum to samples, `size` times as large as those it came from. Changes the
/// spectrum's first and last bin: no imaginary part.
void sr_real_transform_back(const SrRealTransform* transform, fftwf_complex* bins);

#endif // SR_HEAR_REAL_TRANSFORM_H
