// SPDX-License-Identifier: GPL-3.0-or-later

#include "block.h"

#include "larger.h"
#include "simd.h"
#include "tuning.h"

#include <math.h>

struct SrBlockImpl {
  SrFrameGrid grid;
  SrFramer* framer;
  SrActivation* activation;
  float* magnitudes; ///< Of the frame before the block, and of each of its frames
  float loudest;
  SrActivationFrame before; ///< The last one done
  bool at_once;
  size_t seen; ///< Frames of this block that were checked, if they are checked as they come
  size_t done; ///< Frames of this block that were output
};

SrBlock*
sr_block_new(const SrProfile* const profile, const SrFrameGrid* const grid,
             const SrExpected* const expected)
{
  SrBlock* const s = (SrBlock*)calloc(1, sizeof(SrBlock));
  if (!s) {
    return NULL;
  }
  s->grid = *grid;
  s->framer = sr_framer_new(grid);
  s->activation = sr_activation_new(profile, grid, expected);
  s->magnitudes = sr_vector_new((SR_BLOCK_FRAMES + 1) * grid->padded);
  if (!s->framer || !s->activation || !s->magnitudes) {
    sr_block_del(s);
    return NULL;
  }
  return s;
}

void
sr_block_del(SrBlock* const s)
{
  if (s) {
    sr_framer_del(s->framer);
    sr_activation_del(s->activation);
    free(s->magnitudes);
    free(s);
  }
}

void
sr_block_at_once(SrBlock* const s)
{
  s->at_once = true;
}

size_t
sr_block_reach(const SrBlock* const s)
{
  const size_t last = s->at_once ? s->seen : SR_BLOCK_FRAMES - 1;
  return s->grid.window + last * s->grid.hop;
}

size_t
sr_block_step(const SrBlock* const s)
{
  return SR_BLOCK_FRAMES * s->grid.hop;
}

const SrFramer*
sr_block_framer(const SrBlock* const s)
{
  return s->framer;
}

const float*
sr_block_magnitudes(const SrBlock* const s, const size_t frame)
{
  return s->magnitudes + (frame + 1) * s->grid.padded;
}

static float
amount_of(const SrActivationFrame* const frame, const size_t pitch)
{
  for (size_t j = 0; j < frame->count; ++j) {
    if (frame->pitch[j] == pitch) {
      return frame->amount[j];
    }
  }
  return 0.0f;
}

static bool
changes_little(const SrActivationFrame* const from, const SrActivationFrame* const to,
               const float least)
{
  for (size_t j = 0; j < from->count; ++j) {
    const float change = fabsf(amount_of(to, from->pitch[j]) - from->amount[j]);
    if (change > sr_larger(STEADY_SELF * from->amount[j], least)) {
      return false;
    }
  }
  return true;
}

/// Whether the sounding reeds are unchanged.
static bool
is_steady(const SrBlock* const s, const SrActivationFrame* const next)
{
  const float least = BLOCK_STEADY_SHARE * fmaxf(next->total, QUIET_SHARE * s->loudest);
  return changes_little(&s->before, next, least) && changes_little(next, &s->before, least);
}

/// Interpolate between two frames.
static void
draw_between(const SrActivationFrame* const from, const SrActivationFrame* const to,
             const float part, SrActivationFrame* const frame)
{
  *frame = *to;
  for (size_t j = 0; j < frame->count; ++j) {
    frame->amount[j] *= part;
  }
  for (size_t i = 0; i < from->count; ++i) {
    size_t j = 0;
    while (j < frame->count && frame->pitch[j] != from->pitch[i]) {
      ++j;
    }
    if (j < frame->count) {
      frame->amount[j] += (1.0f - part) * from->amount[i];
    } else if (frame->count < SR_ACTIVE_SIZE) {
      frame->pitch[frame->count] = from->pitch[i];
      frame->amount[frame->count++] = (1.0f - part) * from->amount[i];
    }
  }
  for (size_t n = 0; n < 2; ++n) {
    frame->noise[n] = part * to->noise[n] + (1.0f - part) * from->noise[n];
  }
  frame->total = part * to->total + (1.0f - part) * from->total;
  frame->misfit = part * to->misfit + (1.0f - part) * from->misfit;
}

static void
do_whole(SrBlock* const s, const float* const samples, SrActivationFrame* const frames)
{
  const size_t end = SR_BLOCK_FRAMES - 1;
  const size_t padded = s->grid.padded;
  float* const first = s->magnitudes + padded;
  float* const last = first + end * padded;
  sr_framer_do(s->framer, samples + end * s->grid.hop, last);
  sr_activation_do(s->activation, last, &frames[end]);
  s->loudest = fmaxf(frames[end].total, 0.98f * s->loudest);
  if (is_steady(s, &frames[end])) {
    for (size_t i = 0; i < end; ++i) {
      const float part = (float)(i + 1) / (float)SR_BLOCK_FRAMES;
      draw_between(&s->before, &frames[end], part, &frames[i]);
      for (size_t b = 0; b < padded; ++b) {
        first[i * padded + b] = s->magnitudes[b] + part * (last[b] - s->magnitudes[b]);
      }
    }
  } else {
    const SrActivationFrame later = frames[end];
    sr_activation_restart(s->activation, &s->before, &later);
    for (size_t i = 0; i < SR_BLOCK_FRAMES; ++i) {
      sr_framer_do(s->framer, samples + i * s->grid.hop, first + i * padded);
      sr_activation_refine(s->activation, first + i * padded, SR_REFINE_UPDATES, &frames[i]);
    }
  }
  s->before = frames[end];
}

/// Whether a frame differs from the one before its block.
static bool
has_moved(const SrBlock* const s, const float* const magnitudes)
{
  float moved = 0.0f;
  float total = 0.0f;
  for (size_t b = 0; b < s->grid.bins; ++b) {
    moved += fabsf(magnitudes[b] - s->magnitudes[b]);
    total += magnitudes[b];
  }
  return moved > MOVED_SHARE * fmaxf(total, QUIET_SHARE * s->loudest);
}

/// Process the part of a block that its next frame allows.
static SrBlockPart
do_next(SrBlock* const s, const float* const samples, SrActivationFrame* const frames)
{
  const size_t next = s->seen++;
  float* const first = s->magnitudes + s->grid.padded;
  float* const magnitudes = first + next * s->grid.padded;
  sr_framer_do(s->framer, samples + next * s->grid.hop, magnitudes);
  if (s->done == 0 && next + 1 == SR_BLOCK_FRAMES) {
    do_whole(s, samples, frames);
    return (SrBlockPart){0, SR_BLOCK_FRAMES};
  }
  if (s->done == 0 && !has_moved(s, magnitudes)) {
    return (SrBlockPart){0, 0};
  }
  const SrBlockPart part = {s->done, next + 1};
  SrActivationFrame later;
  sr_activation_do(s->activation, magnitudes, &later);
  if (s->done == 0 && is_steady(s, &later)) {
    return (SrBlockPart){0, 0};
  }
  if (part.to == SR_BLOCK_FRAMES) {
    s->loudest = fmaxf(later.total, 0.98f * s->loudest);
  }
  sr_activation_restart(s->activation, &s->before, &later);
  for (size_t i = part.from; i < part.to; ++i) {
    sr_activation_refine(s->activation, first + i * s->grid.padded, SR_REFINE_UPDATES, &frames[i]);
  }
  s->before = frames[next];
  s->done = part.to;
  return part;
}

SrBlockPart
sr_block_do(SrBlock* const s, const float* const samples, SrActivationFrame* const frames)
{
  if (s->seen == 0) {
    const size_t padded = s->grid.padded;
    memcpy(s->magnitudes, s->magnitudes + SR_BLOCK_FRAMES * padded, padded * sizeof(float));
  }
  if (s->at_once) {
    const SrBlockPart part = do_next(s, samples, frames);
    s->seen %= SR_BLOCK_FRAMES;
    s->done %= SR_BLOCK_FRAMES;
    return part;
  }
  do_whole(s, samples, frames);
  return (SrBlockPart){0, SR_BLOCK_FRAMES};
}
