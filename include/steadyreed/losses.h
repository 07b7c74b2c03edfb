// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file losses.h
   Stretches of a take that were lost by the device or the computer. A FLAC file holds silence
   there; its note lists them, so they are treated as unheard whenever the take is judged again.
*/

#ifndef STEADYREED_LOSSES_H
#define STEADYREED_LOSSES_H

#include <steadyreed/declarations.h>
#include <steadyreed/recording.h>

#include <stddef.h>
#include <stdint.h>

SR_BEGIN_DECLARATIONS

/// Most stretches stored. When there are more, the two closest are merged if they are within 4800
/// frames (0.1 s at 48 kHz) of each other, otherwise the shortest is dropped: what was heard well
/// must not become unheard.
#define SR_MOST_LOSSES 96u

/// In order, not touching one another.
typedef struct {
  SrStretch lost[SR_MOST_LOSSES]; ///< In frames of the take
  size_t count;
} SrLosses;

/// Add a stretch that begins at or after the end of the last one.
void sr_losses_add(SrLosses* losses, uint64_t start, uint64_t end);
/// Add the runs of NaN samples; `first` is the frame of the first sample.
void sr_losses_find(SrLosses* losses, uint64_t first, const float* samples, size_t count);
/// The losses that remain when only these parts of the take are kept and joined.
SrLosses sr_losses_cut(const SrLosses* losses, const SrStretch* parts, size_t count);
/// Set samples in lost stretches to NAN; `first` is the frame of the first sample.
void sr_losses_apply(const SrLosses* losses, uint64_t first, float* samples, size_t count);

SR_END_DECLARATIONS

#endif // STEADYREED_LOSSES_H
