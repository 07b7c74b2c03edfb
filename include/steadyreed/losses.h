// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file losses.h
   Stretches of a take that the device or the computer lost. A FLAC file holds silence there; its
   note tells of them, so that they are unheard whenever the take is judged again.
*/

#ifndef STEADYREED_LOSSES_H
#define STEADYREED_LOSSES_H

#include <steadyreed/recording.h>

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/// Most stretches. Of more, the two nearest become one if they are within a tenth of a second of
/// one another; else the shortest is forgotten: what was heard well must not become unheard.
#define SR_MOST_LOSSES 96u

/// In order, none touching another.
typedef struct {
  SrStretch lost[SR_MOST_LOSSES]; ///< In frames of the take
  size_t count;
} SrLosses;

/// Add a stretch that begins at or behind the end of the last one.
void sr_losses_add(SrLosses* losses, uint64_t start, uint64_t end);
/// Add those of some samples that are no numbers; `first` is the frame of the first sample.
void sr_losses_find(SrLosses* losses, uint64_t first, const float* samples, size_t count);
/// What is left of them when only these parts of the take are kept, one behind the other.
SrLosses sr_losses_cut(const SrLosses* losses, const SrStretch* parts, size_t count);
/// Make samples in a lost stretch NAN; `first` is the frame of the first one.
void sr_losses_apply(const SrLosses* losses, uint64_t first, float* samples, size_t count);

#ifdef __cplusplus
}
#endif

#endif // STEADYREED_LOSSES_H
