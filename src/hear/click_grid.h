// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file click_grid.h
   Whether there are clicks at even distances in the transients of a recording.
*/

#ifndef SR_HEAR_CLICK_GRID_H
#define SR_HEAR_CLICK_GRID_H

#include "transients.h"

#include <stdbool.h>
#include <stddef.h>

/// Longest part of a click after its strongest moment, s.
#define SR_CLICK_BEHIND_S 0.036

/// Clicks whose sounds are summed at once.
#define SR_CLICKS_TOGETHER 4u

/// Expected positions of the clicks, in samples of the transients.
typedef struct {
  double first;
  double period;
} SrClickGrid;

/// A click that was searched.
typedef struct {
  double at;
  double like; ///< Correlation with the mean of the others, -1 to 1
  bool there;
  float share; ///< Its weight in that mean
  long start;  ///< First sample that went into the mean
} SrFoundClick;

typedef struct {
  const float* y;
  size_t count;
  double rate_hz;
  const SrTransients* transients;
  size_t before; ///< Samples of a click's sound before its strongest moment
  size_t length;
  float* shape;  ///< Sum of the clicks' sounds; `length` and zeros up to whole vectors
  float* others; ///< The same without one of them
  float* around; ///< The recording around one click: sr_vector_padded(length) + shifts
  float* zeros;  ///< `length` of them
  float* copies[SR_CLICKS_TOGETHER]; ///< `length` each
  float* like;                       ///< Its correlation with the others at each of `shifts` shifts
  size_t shifts;                     ///< Two more than are searched
  SrFoundClick* found;
  size_t found_count;
  size_t first_there; ///< Of those present
  size_t last_there;
} SrClickSearch;

/// A sample of the transients, 0 outside.
float sr_click_sample(const SrClickSearch* search, long at);
/// Correlation of the sounds at two clicks, -1 to 1.
double sr_click_alike(const SrClickSearch* search, const SrFoundClick* a, const SrFoundClick* b);
/**
   Whether there are clicks with a period.

   @param search      Its buffers are made; receives the clicks.
   @param block_start First sample of the block in which the period stood out,
   @param block_count and its length.
   @param grid        Its period is given; receives the positions.
*/
bool sr_click_try_period(SrClickSearch* search, size_t block_start, size_t block_count,
                         SrClickGrid* grid);

#endif // SR_HEAR_CLICK_GRID_H
