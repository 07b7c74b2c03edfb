// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/losses.h>

#include <math.h>
#include <string.h>

/// Stretches at most this far apart, frames, may be merged: 0.1 s at 48 kHz.
#define NEAR 4800u

static void
take_out(SrLosses* const losses, const size_t index)
{
  memmove(&losses->lost[index], &losses->lost[index + 1],
          (losses->count - index - 1) * sizeof(SrStretch));
  --losses->count;
}

static size_t
shortest_of(const SrLosses* const losses)
{
  size_t shortest = 0;
  for (size_t i = 1; i < losses->count; ++i) {
    const SrStretch* const lost = losses->lost;
    if (lost[i].end - lost[i].start < lost[shortest].end - lost[shortest].start) {
      shortest = i;
    }
  }
  return shortest;
}

/// Merge two stretches or drop one.
static void
make_room(SrLosses* const losses)
{
  size_t nearest = 1;
  for (size_t i = 2; i < losses->count; ++i) {
    const SrStretch* const lost = losses->lost;
    if (lost[i].start - lost[i - 1].end < lost[nearest].start - lost[nearest - 1].end) {
      nearest = i;
    }
  }
  if (losses->lost[nearest].start - losses->lost[nearest - 1].end > NEAR) {
    take_out(losses, shortest_of(losses));
    return;
  }
  losses->lost[nearest - 1].end = losses->lost[nearest].end;
  take_out(losses, nearest);
}

void
sr_losses_add(SrLosses* const losses, const uint64_t start, const uint64_t end)
{
  if (end <= start) {
    return;
  }
  if (losses->count && losses->lost[losses->count - 1].end >= start) {
    losses->lost[losses->count - 1].end = end;
    return;
  }
  if (losses->count == SR_MOST_LOSSES) {
    make_room(losses);
  }
  losses->lost[losses->count++] = (SrStretch){start, end};
}

void
sr_losses_find(SrLosses* const losses, const uint64_t first, const float* const samples,
               const size_t count)
{
  for (size_t i = 0; i < count; ++i) {
    if (isnan(samples[i])) {
      sr_losses_add(losses, first + i, first + i + 1);
    }
  }
}

static uint64_t
later(const uint64_t a, const uint64_t b)
{
  return a > b ? a : b;
}

static uint64_t
sooner(const uint64_t a, const uint64_t b)
{
  return a < b ? a : b;
}

SrLosses
sr_losses_cut(const SrLosses* const losses, const SrStretch* const parts, const size_t count)
{
  SrLosses cut = {.count = 0};
  uint64_t kept = 0;
  for (size_t p = 0; p < count; ++p) {
    for (size_t i = 0; i < losses->count; ++i) {
      const uint64_t start = later(losses->lost[i].start, parts[p].start);
      const uint64_t end = sooner(losses->lost[i].end, parts[p].end);
      if (start < end) {
        sr_losses_add(&cut, kept + start - parts[p].start, kept + end - parts[p].start);
      }
    }
    kept += parts[p].end - parts[p].start;
  }
  return cut;
}

void
sr_losses_apply(const SrLosses* const losses, const uint64_t first, float* const samples,
                const size_t count)
{
  for (size_t i = 0; i < losses->count; ++i) {
    const uint64_t start = later(losses->lost[i].start, first);
    const uint64_t end = sooner(losses->lost[i].end, first + count);
    for (uint64_t at = start; at < end; ++at) {
      samples[at - first] = NAN;
    }
  }
}
