// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file transform_plans.h
   Plans of FFTW, each of which is made here: FFTW's planner is one for the whole program, and is
   given its lock before the first. Plans may then be made and destroyed on several threads at once,
   by us and by the libraries that use FFTW, such as aubio.
*/

#ifndef SR_HEAR_TRANSFORM_PLANS_H
#define SR_HEAR_TRANSFORM_PLANS_H

#include <fftw3.h>

#include <stddef.h>

/// Give the planner its lock; for what has a library plan before anything here does.
void sr_transform_plans_share(void);
/// Plan a transform of `size` real samples to `size` / 2 + 1 bins. NULL without memory.
fftwf_plan sr_transform_plan(size_t size, float* samples, fftwf_complex* bins);
/// … and back.
fftwf_plan sr_transform_plan_back(size_t size, fftwf_complex* bins, float* samples);
/// Plan one of `size` complex samples; `sign` is FFTW_FORWARD or FFTW_BACKWARD.
fftwf_plan sr_transform_plan_complex(size_t size, fftwf_complex* from, fftwf_complex* to, int sign);

#endif // SR_HEAR_TRANSFORM_PLANS_H
