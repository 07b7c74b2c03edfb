// SPDX-License-Identifier: GPL-3.0-or-later

#include "lapse.h"

#include <math.h>
#include <stddef.h>

// The device's clock may drift against the computer's by 100 millionths (common practice, no
// source): a twentieth of a millisecond in a stretch of this length.
#define STRETCH_S 0.5
#define MOST_LOST_S 5.0

// All of this is real-time code.

bool
sr_lapse_write(SrLapseQueue* const queue, const SrLapse lapse)
{
  const uint32_t written = atomic_load_explicit(&queue->written, memory_order_relaxed);
  const uint32_t taken = atomic_load_explicit(&queue->taken, memory_order_acquire);
  if (written - taken >= SR_LAPSES) {
    return false;
  }
  queue->lapses[written % SR_LAPSES] = lapse;
  atomic_store_explicit(&queue->written, written + 1, memory_order_release);
  return true;
}

const SrLapse*
sr_lapse_peek(SrLapseQueue* const queue)
{
  const uint32_t taken = atomic_load_explicit(&queue->taken, memory_order_relaxed);
  const uint32_t written = atomic_load_explicit(&queue->written, memory_order_acquire);
  return written == taken ? NULL : &queue->lapses[taken % SR_LAPSES];
}

void
sr_lapse_take(SrLapseQueue* const queue)
{
  const uint32_t taken = atomic_load_explicit(&queue->taken, memory_order_relaxed);
  atomic_store_explicit(&queue->taken, taken + 1, memory_order_release);
}

void
sr_pace_begin(SrPace* const pace, const double rate_hz)
{
  pace->rate_hz = rate_hz;
  pace->least_s[0] = INFINITY;
  pace->least_s[1] = INFINITY;
  pace->next_turn = 0;
}

static bool
clock_tells(const double now_s)
{
  return isfinite(now_s) && now_s > 0.0;
}

void
sr_pace_note(SrPace* const pace, const double now_s, const uint64_t frame)
{
  if (!clock_tells(now_s)) {
    return;
  }
  const double distance_s = now_s - (double)frame / pace->rate_hz;
  if (frame >= pace->next_turn) {
    pace->least_s[1] = pace->least_s[0];
    pace->least_s[0] = distance_s;
    pace->next_turn = frame + (uint64_t)(STRETCH_S * pace->rate_hz);
  } else if (distance_s < pace->least_s[0]) {
    pace->least_s[0] = distance_s;
  }
}

double
sr_pace_zero_s(const SrPace* const pace, const double most_s)
{
  if (!isfinite(pace->least_s[0])) {
    return INFINITY;
  }
  // Also while there is no stretch before this one.
  if (!(fabs(pace->least_s[0] - pace->least_s[1]) < most_s)) {
    return (double)NAN;
  }
  return fmin(pace->least_s[0], pace->least_s[1]);
}

uint64_t
sr_pace_lost(SrPace* const pace, const double now_s, const uint64_t frame)
{
  const double usual_s = fmin(pace->least_s[0], pace->least_s[1]);
  if (!clock_tells(now_s) || !isfinite(usual_s)) {
    return 1;
  }
  const double missing_s = now_s - (double)frame / pace->rate_hz - usual_s;
  if (missing_s >= MOST_LOST_S) {
    // The clock was set, or the computer slept: what was learnt no longer holds.
    sr_pace_begin(pace, pace->rate_hz);
    return (uint64_t)(MOST_LOST_S * pace->rate_hz);
  }
  const double missing = missing_s * pace->rate_hz + 0.5;
  return missing >= 1.0 ? (uint64_t)missing : 1;
}
