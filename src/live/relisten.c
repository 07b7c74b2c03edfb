// SPDX-License-Identifier: GPL-3.0-or-later

#include "relisten.h"

#include "tuning.h"

#include <math.h>
#include <stdbool.h>

SrStatus
sr_relisten_begin(SrRelisten* const relisten, const SrHistoryRing* const history,
                  const double rate_hz, const SrProfile* const profile,
                  const SrExpected* const expected, const double from_s, const double since_s,
                  SrError* const error)
{
  relisten->at = (uint64_t)(fmax(0.0, from_s) * rate_hz);
  if (relisten->at < sr_history_ring_start(history)) {
    relisten->at = sr_history_ring_start(history);
  }
  return sr_window_new(rate_hz, profile, expected, relisten->at, since_s, &relisten->window, error);
}

/// Whether the next sample is available.
static bool
can_go_on(const SrRelisten* const relisten, const SrHistoryRing* const history)
{
  return relisten->at >= sr_history_ring_start(history) &&
         relisten->at < sr_history_ring_end(history);
}

SrStatus
sr_relisten_do(SrRelisten* const relisten, const SrHistoryRing* const history, const uint64_t most)
{
  SrStatus status = SR_OK;
  uint64_t left = most;
  while (status == SR_OK && left > 0 && can_go_on(relisten, history)) {
    size_t count;
    const float* const samples = sr_history_ring_at(history, relisten->at, &count);
    count = count < left ? count : (size_t)left;
    // In pieces, so that results are pulled before they pile up
    count = count < MOST_AT_ONCE ? count : MOST_AT_ONCE;
    status = sr_window_push(relisten->window, samples, count);
    relisten->at += count;
    left -= count;
  }
  return status;
}

void
sr_relisten_clear(SrRelisten* const relisten)
{
  sr_window_del(relisten->window);
  *relisten = (SrRelisten){0};
}
