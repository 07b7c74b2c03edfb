// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file level_curve.h
   The level of a sound over a short time: root mean square over windows of 5 ms, one after the
   other.
*/

#ifndef STEADYREED_LEVEL_CURVE_H
#define STEADYREED_LEVEL_CURVE_H

#include <steadyreed/declarations.h>
#include <steadyreed/status.h>

#include <stddef.h>

SR_BEGIN_DECLARATIONS

/// Length of a window, s.
#define SR_LEVEL_STEP_S 0.005
/// Least level that is told, dBFS; also that of silence and of windows with lost samples.
#define SR_LEVEL_LEAST_DB (-120.0)

/// A curve. Free it with sr_level_curve_clear().
typedef struct {
  double start_s;   ///< When its first window begins, s from the start of the take
  double* level_db; ///< Of each window, dBFS, SR_LEVEL_LEAST_DB or more
  size_t count;     ///< Number of windows
} SrLevelCurve;

/**
   Calculate a curve.

   @param samples Mono, full scale ±1; a NaN or infinite one is lost.
   @param count   Number of samples; those after the last whole window are not used.
   @param rate_hz Samples a second, 1000 or more.
   @param start_s When the first sample was, s from the start of the take.
   @param curve   Receives it; all zero on error.
   @return SR_OK, SR_BAD_ARGUMENT (rate) or SR_NO_MEMORY.
*/
SrStatus sr_level_curve(const float* samples, size_t count, double rate_hz, double start_s,
                        SrLevelCurve* curve);
/// Free what it holds.
void sr_level_curve_clear(SrLevelCurve* curve);

SR_END_DECLARATIONS

#endif // STEADYREED_LEVEL_CURVE_H
