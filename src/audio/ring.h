// SPDX-License-Identifier: GPL-3.0-or-later

#ifndef SR_AUDIO_RING_H
#define SR_AUDIO_RING_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Of today's processors; the two ends are kept on cache lines of their own.
#define SR_CACHE_LINE 64

/**
   Samples from one thread to another without a lock: one thread writes, one reads. Both counts
   run on for ever; a sample's place is its count modulo the size.
*/
typedef struct {
  float* samples;
  uint64_t size; ///< Power of two
  char apart[SR_CACHE_LINE];
  _Atomic uint64_t written; ///< By the writer
  char further_apart[SR_CACHE_LINE];
  _Atomic uint64_t taken; ///< By the reader
} SrRing;

/// Room for `least` samples or more, all of its memory touched; false if there is none.
bool sr_ring_begin(SrRing* ring, size_t least);
/// Free what it holds. Only once no other thread uses it.
void sr_ring_end(SrRing* ring);

// Real-time code from here on: no lock, no allocation, no system call, bounded work.

/// Write up to `count` samples; returns how many found room. The writing thread only.
size_t sr_ring_write(SrRing* ring, const float* samples, size_t count);
/// Read up to `room` samples; returns how many. The reading thread only.
size_t sr_ring_read(SrRing* ring, float* samples, size_t room);
/// Pass over all before the sample of this count. The reading thread only.
void sr_ring_pass(SrRing* ring, uint64_t count);
/// Samples that may be read now; more may come if a reader asks, less be left if a writer does.
size_t sr_ring_readable(const SrRing* ring);

#endif // SR_AUDIO_RING_H
