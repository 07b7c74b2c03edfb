// SPDX-License-Identifier: GPL-3.0-or-later

#include "loss_queue.h"

#include <math.h>
#include <stddef.h>

// The device's clock may drift against the computer's by 100 ppm (common practice, no source): 0.05
// ms in a stretch of this length
#define STRETCH_S 0.5
#define MOST_LOST_S 5.0
// Being later than usual by this, s, in this many stretches in a row, steadily to within this, s,
// is an unreported loss
#define QUIET_LOSS_S 0.3
#define QUIET_STRETCHES 2u
#define QUIET_STEADY_S 0.05
// A longer step, s, means the clock was set
#define CLOCK_SET_S 60.0
// Update rate of `usual_s` per stretch
#define FOLLOW 0.2

// All of this is real-time code

bool
sr_loss_write(SrLossQueue* const queue, const SrLoss loss)
{
  const uint32_t written = atomic_load_explicit(&queue->written, memory_order_relaxed);
  const uint32_t taken = atomic_load_explicit(&queue->taken, memory_order_acquire);
  if (written - taken >= SR_LOSS_QUEUE_SIZE) {
    return false;
  }
  queue->losses[written % SR_LOSS_QUEUE_SIZE] = loss;
  atomic_store_explicit(&queue->written, written + 1, memory_order_release);
  return true;
}

const SrLoss*
sr_loss_peek(SrLossQueue* const queue)
{
  const uint32_t taken = atomic_load_explicit(&queue->taken, memory_order_relaxed);
  const uint32_t written = atomic_load_explicit(&queue->written, memory_order_acquire);
  return written == taken ? NULL : &queue->losses[taken % SR_LOSS_QUEUE_SIZE];
}

void
sr_loss_take(SrLossQueue* const queue)
{
  const uint32_t taken = atomic_load_explicit(&queue->taken, memory_order_relaxed);
  atomic_store_explicit(&queue->taken, taken + 1, memory_order_release);
}

void
sr_clock_drift_begin(SrClockDrift* const pace, const double rate_hz)
{
  pace->rate_hz = rate_hz;
  pace->least_s[0] = INFINITY;
  pace->least_s[1] = INFINITY;
  pace->next_turn = 0;
  pace->usual_s = INFINITY;
  pace->behind = 0;
  pace->missing_s = 0.0;
}

/**
   At the end of a stretch: check whether its least distance is much more than usual, like that of
   the one before.
*/
static void
weigh_stretch(SrClockDrift* const pace, const double least_s)
{
  const double more_s = least_s - pace->usual_s;
  if (!isfinite(pace->usual_s) || more_s > CLOCK_SET_S) {
    pace->usual_s = least_s;
    pace->behind = 0;
  } else if (more_s > QUIET_LOSS_S) {
    // While delayed input catches up, the distance shrinks from stretch to stretch
    const bool steady = fabs(least_s - pace->least_s[1]) < QUIET_STEADY_S;
    pace->behind = steady ? pace->behind + 1 : 0;
    if (pace->behind >= QUIET_STRETCHES) {
      pace->missing_s += more_s;
      pace->behind = 0;
    }
  } else {
    pace->behind = 0;
    // At the start buffers fill, then the clocks drift slowly
    pace->usual_s = more_s < 0.0 ? least_s : pace->usual_s + FOLLOW * more_s;
  }
}

static bool
clock_tells(const double now_s)
{
  return isfinite(now_s) && now_s > 0.0;
}

void
sr_clock_drift_note(SrClockDrift* const pace, const double now_s, const uint64_t frame)
{
  if (!clock_tells(now_s)) {
    return;
  }
  const double distance_s = now_s - (double)frame / pace->rate_hz;
  if (frame >= pace->next_turn) {
    if (isfinite(pace->least_s[0])) {
      weigh_stretch(pace, pace->least_s[0]);
    }
    pace->least_s[1] = pace->least_s[0];
    pace->least_s[0] = distance_s;
    pace->next_turn = frame + (uint64_t)(STRETCH_S * pace->rate_hz);
  } else if (distance_s < pace->least_s[0]) {
    pace->least_s[0] = distance_s;
  }
}

double
sr_clock_drift_zero_s(const SrClockDrift* const pace, const double most_s)
{
  if (!isfinite(pace->least_s[0])) {
    return INFINITY;
  }
  // Also true while there is no previous stretch
  if (!(fabs(pace->least_s[0] - pace->least_s[1]) < most_s)) {
    return (double)NAN;
  }
  return fmin(pace->least_s[0], pace->least_s[1]);
}

uint64_t
sr_clock_drift_missing(SrClockDrift* const pace)
{
  if (!(pace->missing_s > 0.0)) {
    return 0;
  }
  const double missing_s = fmin(pace->missing_s, MOST_LOST_S);
  // Delivering the loss brings the count back to the clock, except for what exceeds the limit
  sr_clock_drift_begin(pace, pace->rate_hz);
  return (uint64_t)(missing_s * pace->rate_hz);
}

uint64_t
sr_clock_drift_lost(SrClockDrift* const pace, const double now_s, const uint64_t frame)
{
  const double usual_s = fmin(pace->least_s[0], pace->least_s[1]);
  if (!clock_tells(now_s) || !isfinite(usual_s)) {
    return 1;
  }
  const double missing_s = now_s - (double)frame / pace->rate_hz - usual_s;
  if (missing_s >= MOST_LOST_S) {
    // The clock was set, or the computer slept: the learnt pace no longer holds
    sr_clock_drift_begin(pace, pace->rate_hz);
    return (uint64_t)(MOST_LOST_S * pace->rate_hz);
  }
  const double missing = missing_s * pace->rate_hz + 0.5;
  return missing >= 1.0 ? (uint64_t)missing : 1;
}
