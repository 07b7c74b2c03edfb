// SPDX-License-Identifier: GPL-3.0-or-later

#include "clock_link.h"

#include <math.h>
#include <string.h>

/// Time a device without a clock must have run, s.
#define SETTLE_S 0.3
/// What is less than this, s, moves nothing, which keeps the click even.
#define STEP_S 0.003
/// An offset of more than this, s, is no wander: something was lost, or the computer's clock was
/// set.
#define LOSS_S 0.02
/// It must last this long, s: it may come from late callbacks on a busy computer, or from the clock
/// being set, which one callback noticed before the other. A change by more than this itself is
/// never from an underrun.
#define DOUBT_S 2.0
/// The least and the most offset are those of one to two stretches of this length, s. A server's
/// wander took 17 s. Two clocks that differ by 100 parts in a million are followed 1.6 to 3.2 ms
/// late.
#define STRETCH_S 16.0

enum { LEAST, MOST };

static void
begin_stretches(SrClockLink* const link, const uint64_t put)
{
  for (int i = 0; i < 2; ++i) {
    link->least[i] = (double)INFINITY;
    link->most[i] = -(double)INFINITY;
    link->kept[i] = (double)NAN;
  }
  link->turn = put + (uint64_t)(STRETCH_S * link->rate_hz);
  link->doubted_s = 0.0;
}

void
sr_clock_link_begin(SrClockLink* const link, const double rate_hz)
{
  memset(link, 0, sizeof(*link));
  link->rate_hz = rate_hz;
  begin_stretches(link, 0);
}

static void
link_by(SrClockLink* const link, const double shift, const uint64_t put)
{
  link->shift = (int64_t)shift;
  link->linked = link->shift >= -(int64_t)put;
  begin_stretches(link, put);
}

static void
note(SrClockLink* const link, const double offset, const uint64_t put)
{
  if (put >= link->turn) {
    link->least[1] = link->least[0];
    link->most[1] = link->most[0];
    link->least[0] = (double)INFINITY;
    link->most[0] = -(double)INFINITY;
    link->turn = put + (uint64_t)(STRETCH_S * link->rate_hz);
  }
  link->least[0] = fmin(link->least[0], offset);
  link->most[0] = fmax(link->most[0], offset);
}

/// Move the link by what lasts: by how much both the least and the most offset have moved.
static void
follow(SrClockLink* const link)
{
  const double least = fmin(link->least[0], link->least[1]);
  const double most = fmax(link->most[0], link->most[1]);
  if (isinf(link->least[1])) {
    return; // Not yet known
  }
  if (isnan(link->kept[LEAST])) {
    link->kept[LEAST] = least;
    link->kept[MOST] = most;
    link->bias = link->bias != 0.0 ? link->bias : 0.5 * (least + most) - (double)link->shift;
  }
  const double later = fmin(least - link->kept[LEAST], most - link->kept[MOST]);
  const double earlier = fmax(least - link->kept[LEAST], most - link->kept[MOST]);
  const double moved = fmax(0.0, later) + fmin(0.0, earlier);
  if (fabs(moved) > STEP_S * link->rate_hz) {
    const int64_t frames = (int64_t)moved;
    link->shift += frames;
    link->kept[LEAST] += (double)frames;
    link->kept[MOST] += (double)frames;
  }
}

bool
sr_clock_link_compare(SrClockLink* const link, const SrClocks* const clocks)
{
  const double offset = (clocks->put_zero_s - clocks->heard_zero_s) * link->rate_hz;
  const double since_s = (double)(clocks->put - link->compared) / link->rate_hz;
  link->compared = clocks->put;
  if (!isfinite(offset)) {
    // Without clocks, rely on the callbacks themselves
    if (!link->linked && isinf(clocks->put_zero_s) &&
        (double)clocks->heard >= SETTLE_S * link->rate_hz) {
      link_by(link, (double)clocks->heard - (double)clocks->put, clocks->put);
    }
    return false;
  }
  const double off = offset - (double)link->shift - link->bias;
  const double off_s = fabs(off) / link->rate_hz;
  link->doubted_s = off_s > LOSS_S ? link->doubted_s + since_s : 0.0;
  const bool moved = clocks->restarted && off_s > STEP_S && off_s <= DOUBT_S;
  if (!link->linked) {
    link_by(link, offset, clocks->put);
  } else if (moved || link->doubted_s > DOUBT_S) {
    link_by(link, (double)link->shift + off, clocks->put);
  } else if (off_s <= LOSS_S) {
    note(link, offset, clocks->put);
    follow(link);
  }
  return true;
}
