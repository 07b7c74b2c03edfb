// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file stride.h
   From samples to activations, every 2 ms where something changes. Frames come in
   strides of four; where the spectrum at the end of a stride is still what it was
   at its start, the frames between are drawn straight instead of solved, which
   takes more than half of the work away from steady notes. Who cannot wait has each frame
   looked at as it comes: from the first one that differs from what was there before the
   stride on, they are solved at once.
*/

#ifndef SR_HEAR_STRIDE_H
#define SR_HEAR_STRIDE_H

#include "activation.h"

/// Frames in a stride.
#define SR_STRIDE_FRAMES 4u

typedef struct SrStrideImpl SrStride;

/// Make one; NULL without memory. `expected` may be NULL.
SrStride* sr_stride_new(const SrProfile* profile, const SrFrameGrid* grid,
                        const SrExpected* expected);
/// Free; NULL does nothing.
void sr_stride_del(SrStride* stride);
/// Frames of a stride.
typedef struct {
  size_t from;
  size_t to; ///< The one behind the last; the stride is over if this is SR_STRIDE_FRAMES
} SrStridePart;

/// Look at each frame as it comes, before the first stride.
void sr_stride_at_once(SrStride* stride);
/// Samples that the next sr_stride_do() reads.
size_t sr_stride_reach(const SrStride* stride);
/// Samples to go on by when a stride is over.
size_t sr_stride_step(const SrStride* stride);
/**
   Do one stride, or, at once, what of it can be told by its next frame.

   @param samples sr_stride_reach() samples; the first frame of the stride starts at the first of
   them.
   @param frames  Room for SR_STRIDE_FRAMES frames; receives those of the part.
   @return The part: the whole stride, unless frames are looked at as they come.
*/
SrStridePart sr_stride_do(SrStride* stride, const float* samples, SrActivationFrame* frames);
/// The transform of the last frame of the last stride, once that is over.
const SrFramer* sr_stride_framer(const SrStride* stride);
/// The magnitudes of a frame of the last stride, drawn or transformed, grid->padded floats.
const float* sr_stride_magnitudes(const SrStride* stride, size_t frame);

#endif // SR_HEAR_STRIDE_H
