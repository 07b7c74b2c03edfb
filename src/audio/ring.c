// SPDX-License-Identifier: GPL-3.0-or-later

#include "ring.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool
sr_ring_begin(SrRing* const ring, const size_t least)
{
  size_t size = 1;
  while (size < least) {
    size *= 2;
  }
  ring->samples = (float*)malloc(size * sizeof(float));
  if (!ring->samples) {
    return false;
  }
  // Write to it now, so that the real-time thread causes no page faults; NaN makes samples that
  // were never written visible
  for (size_t i = 0; i < size; ++i) {
    ring->samples[i] = NAN;
  }
  ring->size = size;
  atomic_init(&ring->written, 0);
  atomic_init(&ring->taken, 0);
  return true;
}

void
sr_ring_end(SrRing* const ring)
{
  free(ring->samples);
  ring->samples = NULL;
}

// Real-time code from here on

size_t
sr_ring_write(SrRing* const ring, const float* const samples, const size_t count)
{
  const uint64_t written = atomic_load_explicit(&ring->written, memory_order_relaxed);
  // The reader no longer accesses what it has taken
  const uint64_t taken = atomic_load_explicit(&ring->taken, memory_order_acquire);
  const size_t room = (size_t)(ring->size - (written - taken));
  const size_t given = count < room ? count : room;
  const size_t place = (size_t)(written & (ring->size - 1));
  const size_t to_end = (size_t)ring->size - place;
  const size_t first = given < to_end ? given : to_end;
  memcpy(ring->samples + place, samples, first * sizeof(float));
  memcpy(ring->samples, samples + first, (given - first) * sizeof(float));
  atomic_store_explicit(&ring->written, written + given, memory_order_release);
  return given;
}

size_t
sr_ring_read(SrRing* const ring, float* const samples, const size_t room)
{
  const uint64_t taken = atomic_load_explicit(&ring->taken, memory_order_relaxed);
  const uint64_t written = atomic_load_explicit(&ring->written, memory_order_acquire);
  const size_t ready = (size_t)(written - taken);
  const size_t given = room < ready ? room : ready;
  const size_t place = (size_t)(taken & (ring->size - 1));
  const size_t to_end = (size_t)ring->size - place;
  const size_t first = given < to_end ? given : to_end;
  memcpy(samples, ring->samples + place, first * sizeof(float));
  memcpy(samples + first, ring->samples, (given - first) * sizeof(float));
  atomic_store_explicit(&ring->taken, taken + given, memory_order_release);
  return given;
}

void
sr_ring_pass(SrRing* const ring, const uint64_t count)
{
  const uint64_t taken = atomic_load_explicit(&ring->taken, memory_order_relaxed);
  if (count > taken) {
    atomic_store_explicit(&ring->taken, count, memory_order_release);
  }
}

size_t
sr_ring_readable(const SrRing* const ring)
{
  // In this order, since `taken` may overtake a `written` read earlier
  const uint64_t taken = atomic_load_explicit(&ring->taken, memory_order_acquire);
  const uint64_t written = atomic_load_explicit(&ring->written, memory_order_acquire);
  return (size_t)(written - taken);
}
