// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file frame_grid_offset.h
   Frame grid offset that puts a window on a given sample.

   The windows of calibration, frames and air are all placed by the loudest sample of the recording.
   The same playing then gives the same onsets wherever the recording begins, so a kept take is
   judged as the file it came from.
*/

#ifndef SR_HEAR_FRAME_GRID_OFFSET_H
#define SR_HEAR_FRAME_GRID_OFFSET_H

#include <stddef.h>
#include <stdint.h>

/// Number of samples to skip so that one of the windows, which start every `period` samples, starts
/// at `sample`; under `period`.
static inline size_t
sr_frame_grid_offset(const int64_t sample, const size_t period)
{
  const int64_t rest = sample % (int64_t)period;
  return (size_t)(rest < 0 ? rest + (int64_t)period : rest);
}

#endif // SR_HEAR_FRAME_GRID_OFFSET_H
