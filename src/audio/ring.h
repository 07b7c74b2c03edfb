// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_RING_H
#define SR_AUDIO_RING_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Cache line of current processors; the two ends are kept on separate lines.
#define SR_CACHE_LINE 64

/**
   Lock-free ring buffer of samples with one writing and one reading thread. Both counts increase
   for ever; a sample's index is its count modulo the size.
*/
typedef struct {
  float* samples;
  uint64_t size; ///< Power of two
  char apart[SR_CACHE_LINE];
  _Atomic uint64_t written; ///< Advanced by the writer
  char further_apart[SR_CACHE_LINE];
  _Atomic uint64_t taken; ///< Advanced by the reader
} SrRing;

/// Allocate room for at least `least` samples, with all memory touched; false without memory.
bool sr_ring_begin(SrRing* ring, size_t least);
/// Free what it holds. Only once no other thread uses it.
void sr_ring_end(SrRing* ring);

// Real-time code from here on: no lock, no allocation, no system call, bounded work

/// Write up to `count` samples; returns how many were written. Writing thread only.
size_t sr_ring_write(SrRing* ring, const float* samples, size_t count);
/// Read up to `room` samples; returns how many. Reading thread only.
size_t sr_ring_read(SrRing* ring, float* samples, size_t room);
/// Discard everything before the sample with this count. Reading thread only.
void sr_ring_pass(SrRing* ring, uint64_t count);
/// Samples available to read: a lower bound for the reader, an upper bound for the writer.
size_t sr_ring_readable(const SrRing* ring);

#endif // SR_AUDIO_RING_H
