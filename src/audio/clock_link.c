// SPDX-License-Identifier: GPL-3.0-or-later

#include "clock_link.h"

#include <math.h>

/// Time a device without a clock must have run, s.
#define SETTLE_S 0.3
/// Offsets below this, s, move nothing, which keeps the click even.
#define STEP_S 0.003
/// A larger offset than this, s, is no drift: something was lost, or the computer's clock was set.
#define LOSS_S 0.02
/// It must last this long, s: it may come from late callbacks on a busy computer, or from the clock
/// being set, which one callback noticed before the other. Longer ones are never from an underrun.
#define DOUBT_S 2.0
/// Least distances are those of one to two stretches of this length, s. A server's wander took 17
/// s. Two clocks that differ by 100 parts in a million are followed 1.6 to 3.2 ms late.
#define STRETCH_S 16.0

enum { PUT, HEARD };

static void
begin_stretches(SrClockLink* const link, const uint64_t put)
{
  for (int side = PUT; side <= HEARD; ++side) {
    link->least_s[side][0] = INFINITY;
    link->least_s[side][1] = INFINITY;
  }
  link->turn = put + (uint64_t)(STRETCH_S * link->rate_hz);
  link->kept = (double)NAN;
}

void
sr_clock_link_begin(SrClockLink* const link, const double rate_hz)
{
  link->rate_hz = rate_hz;
  link->linked = false;
  link->shift = 0;
  link->doubted = 0;
  begin_stretches(link, 0);
}

static void
link_by(SrClockLink* const link, const double shift, const uint64_t put)
{
  link->shift = (int64_t)shift;
  link->linked = link->shift >= -(int64_t)put;
  link->doubted = put;
  begin_stretches(link, put);
}

static void
note_least(SrClockLink* const link, const SrClocks* const clocks)
{
  const double zero_s[2] = {clocks->put_zero_s, clocks->heard_zero_s};
  for (int side = PUT; side <= HEARD; ++side) {
    double* const least_s = link->least_s[side];
    least_s[0] = fmin(least_s[0], zero_s[side]);
    if (clocks->put >= link->turn) {
      least_s[1] = least_s[0];
      least_s[0] = zero_s[side];
    }
  }
  if (clocks->put >= link->turn) {
    link->turn = clocks->put + (uint64_t)(STRETCH_S * link->rate_hz);
  }
}

/// Move the link by what lasts.
static void
follow(SrClockLink* const link, const bool clicks)
{
  const double put_s = fmin(link->least_s[PUT][0], link->least_s[PUT][1]);
  const double heard_s = fmin(link->least_s[HEARD][0], link->least_s[HEARD][1]);
  const double apart = (put_s - heard_s) * link->rate_hz - (double)link->shift;
  if (!isfinite(link->least_s[PUT][1]) || fabs(apart) > LOSS_S * link->rate_hz) {
    return; // Not yet known, or of before the clock was set
  }
  link->kept = !clicks ? 0.0 : isnan(link->kept) ? apart : link->kept;
  if (fabs(apart - link->kept) > STEP_S * link->rate_hz) {
    link->shift += (int64_t)(apart - link->kept);
  }
}

bool
sr_clock_link_compare(SrClockLink* const link, const SrClocks* const clocks)
{
  const double shift = (clocks->put_zero_s - clocks->heard_zero_s) * link->rate_hz;
  if (!isfinite(shift)) {
    // Without clocks, rely on the callbacks themselves
    if (!link->linked && isinf(clocks->put_zero_s) &&
        (double)clocks->heard >= SETTLE_S * link->rate_hz) {
      link_by(link, (double)clocks->heard - (double)clocks->put, clocks->put);
    }
    return false;
  }
  const double off_s = fabs(shift - (double)link->shift) / link->rate_hz;
  const bool believed = off_s <= LOSS_S;
  if (believed) {
    link->doubted = clocks->put;
  }
  const double doubted_s = (double)(clocks->put - link->doubted) / link->rate_hz;
  const bool moved = clocks->restarted && off_s > STEP_S && off_s <= DOUBT_S;
  if (!link->linked || moved || doubted_s > DOUBT_S) {
    link_by(link, shift, clocks->put);
  } else if (believed) {
    note_least(link, clocks);
    follow(link, clocks->clicks);
  }
  return true;
}
