// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file block.h
   From samples to activations, every 2 ms where something changes. Frames come in blocks of four;
   if the spectrum at the end of a block is still that of its start, the frames between are
   interpolated instead of solved, which saves more than half of the work on steady notes. For live
   use each frame is checked as it comes: from the first one that differs from the end of the last
   block, frames are solved at once.
*/

#ifndef SR_HEAR_BLOCK_H
#define SR_HEAR_BLOCK_H

#include "activation.h"

/// Frames in a block.
#define SR_BLOCK_FRAMES 4u

typedef struct SrBlockImpl SrBlock;

/// Make one; NULL if out of memory. `expected` may be NULL.
SrBlock* sr_block_new(const SrProfile* profile, const SrFrameGrid* grid,
                      const SrExpected* expected);
/// Free; NULL is allowed.
void sr_block_del(SrBlock* block);
/// Frames of a block.
typedef struct {
  size_t from;
  size_t to; ///< One past the last; the block is over if this is SR_BLOCK_FRAMES
} SrBlockPart;

/// Check each frame as it comes; call before the first block.
void sr_block_at_once(SrBlock* block);
/// Samples that the next sr_block_do() reads.
size_t sr_block_reach(const SrBlock* block);
/// Samples to advance by when a block is over.
size_t sr_block_step(const SrBlock* block);
/**
   Process a block, or, with frames checked as they come, what its next frame allows.

   @param samples sr_block_reach() samples, from the start of the block's first frame.
   @param frames  Room for SR_BLOCK_FRAMES frames; receives those of the part.
   @return The part: the whole block, unless frames are checked as they come.
*/
SrBlockPart sr_block_do(SrBlock* block, const float* samples, SrActivationFrame* frames);
/// The transform of the last frame of the last block, once that is over.
const SrFramer* sr_block_framer(const SrBlock* block);
/// The magnitudes of a frame of the last block, interpolated or transformed, grid->padded floats.
const float* sr_block_magnitudes(const SrBlock* block, size_t frame);

#endif // SR_HEAR_BLOCK_H
