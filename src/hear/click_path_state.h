// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_path_state.h
   State of a click's path, and its model of a click, for learning and prediction.
*/

#ifndef SR_HEAR_CLICK_PATH_STATE_H
#define SR_HEAR_CLICK_PATH_STATE_H

#include "click_path.h"

#include <fftw3.h>

struct SrClickPathImpl {
  size_t size;
  size_t bins;
  size_t window;
  size_t lead;
  size_t before;
  size_t envelope; ///< Samples on each side
  float* taper;    ///< Over a window
  float* support;  ///< Over the response: where it may be non-zero
  float* time;
  float* predicted;
  fftwf_complex* sounds[2];
  fftwf_complex* response;
  fftwf_complex* heard;
  fftwf_complex* model;
  fftwf_complex* left;
  fftwf_complex* last; ///< Whitened residual of the previous click
  float* uncertainty;  ///< Variance of the response, each bin
  float* noise;        ///< Power of other sounds, each bin
  float* power;
  fftwf_plan forward; ///< time to heard
  fftwf_plan back;    ///< left to time
  float first_uncertainty;
  double taper_power;
  double gain;
  double gain_variance;
  unsigned lessons;
};

/// A sound through the response, `late` samples late.
void sr_click_path_model(const SrClickPath* path, const fftwf_complex* response,
                         const fftwf_complex* sound, double late, fftwf_complex* result);
/// The end of the lead in the transform's time.
double sr_click_path_place(const SrClickPath* path, double fraction);

#endif // SR_HEAR_CLICK_PATH_STATE_H
