// SPDX-License-Identifier: GPL-3.0-or-later

#include "window.h"

#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct SrWindowImpl {
  SrHear* hear;
  uint64_t start; ///< Stream index of its first sample
  double start_s;
  double since_s;
  SrEvent* events; ///< Ended ones; behind them is room for a copy with the open ones
  size_t count;
  size_t room;
  SrAirHeard* air;
  size_t air_count;
  size_t air_room;
  uint64_t ended;
  SrOpenSound open[SR_MOST_OPEN]; ///< At the last look
  size_t open_count;
  double looked_s;     ///< Time processed at that look
  double least_seen_s; ///< Argument of that look
  bool lost;
};

SrStatus
sr_window_new(const double rate_hz, const SrProfile* const profile,
              const SrExpected* const expected, const uint64_t start, const double since_s,
              SrWindow** const window, SrError* const error)
{
  *window = NULL;
  SrWindow* const w = (SrWindow*)calloc(1, sizeof(SrWindow));
  if (!w) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  const SrStatus status = sr_hear_new(rate_hz, profile, expected, &w->hear, error);
  if (status != SR_OK) {
    free(w);
    return status;
  }
  w->start = start;
  w->start_s = (double)start / rate_hz;
  w->since_s = since_s;
  w->looked_s = -1.0;
  *window = w;
  return SR_OK;
}

void
sr_window_place(SrWindow* const w, const uint64_t sample)
{
  sr_hear_place(w->hear, (int64_t)(sample - w->start));
}

void
sr_window_at_once(SrWindow* const w)
{
  sr_hear_at_once(w->hear);
}

SrStatus
sr_window_air_later(SrWindow* const w)
{
  return sr_hear_air_later(w->hear);
}

void
sr_window_del(SrWindow* const w)
{
  if (w) {
    sr_hear_del(w->hear);
    free(w->events);
    free(w->air);
    free(w);
  }
}

/// Room for `count` events in total.
static bool
make_room(SrWindow* const w, const size_t count)
{
  if (count <= w->room) {
    return true;
  }
  const size_t room = 2 * count + 64;
  SrEvent* const events = (SrEvent*)realloc(w->events, room * sizeof(SrEvent));
  if (events) {
    w->events = events;
    w->room = room;
  }
  return events != NULL;
}

static void
move_event(SrEvent* const event, const double by_s)
{
  event->onset_s += by_s;
  event->end_s += by_s;
}

/// Whether an event started late enough to be kept; of a gap in the signal, whether it ended late
/// enough.
static bool
counts(const SrWindow* const w, const SrEvent* const event)
{
  return (event->kind == SR_EVENT_UNHEARD ? event->end_s : event->onset_s) >= w->since_s;
}

static void
pull(SrWindow* const w)
{
  SrEvent event;
  while (sr_hear_pull(w->hear, &event)) {
    move_event(&event, w->start_s);
    ++w->ended;
    if (!counts(w, &event)) {
      continue;
    }
    if (!make_room(w, w->count + 1)) {
      w->lost = true;
      return;
    }
    w->events[w->count++] = event;
  }
  SrAirHeard air;
  while (sr_hear_pull_air(w->hear, &air)) {
    air.start_s += w->start_s;
    air.end_s += w->start_s;
    if (w->air_count == w->air_room) {
      const size_t room = 2 * w->air_room + 16;
      SrAirHeard* const more = (SrAirHeard*)realloc(w->air, room * sizeof(SrAirHeard));
      if (!more) {
        w->lost = true;
        return;
      }
      w->air = more;
      w->air_room = room;
    }
    if (air.start_s >= w->since_s) {
      w->air[w->air_count++] = air;
    }
  }
}

SrStatus
sr_window_push(SrWindow* const w, const float* const samples, const size_t count)
{
  w->lost = sr_hear_push(w->hear, samples, count) != SR_OK || w->lost;
  pull(w);
  return w->lost ? SR_NO_MEMORY : SR_OK;
}

SrStatus
sr_window_finish(SrWindow* const w)
{
  w->lost = sr_hear_finish(w->hear) != SR_OK || w->lost;
  pull(w);
  return w->lost ? SR_NO_MEMORY : SR_OK;
}

void
sr_window_drop(SrWindow* const w, const double before_s)
{
  w->since_s = fmax(w->since_s, before_s);
  size_t kept = 0;
  for (size_t i = 0; i < w->count; ++i) {
    if (counts(w, &w->events[i])) {
      w->events[kept++] = w->events[i];
    }
  }
  w->count = kept;
  kept = 0;
  for (size_t i = 0; i < w->air_count; ++i) {
    if (w->air[i].start_s >= w->since_s) {
      w->air[kept++] = w->air[i];
    }
  }
  w->air_count = kept;
}

double
sr_window_heard_s(const SrWindow* const w)
{
  return w->start_s + sr_hear_heard_s(w->hear);
}

uint64_t
sr_window_ended(const SrWindow* const w)
{
  return w->ended;
}

size_t
sr_window_open(SrWindow* const w, const double least_seen_s, SrOpenSound* const open)
{
  const double heard_s = sr_hear_heard_s(w->hear);
  // In steady sound several frames are processed together; nothing changes until then
  if (heard_s > w->looked_s || fabs(least_seen_s - w->least_seen_s) > 0.0) {
    w->open_count = sr_hear_open(w->hear, least_seen_s, w->open, SR_MOST_OPEN);
    for (size_t i = 0; i < w->open_count; ++i) {
      move_event(&w->open[i].event, w->start_s);
    }
    w->looked_s = heard_s;
    w->least_seen_s = least_seen_s;
  }
  size_t kept = 0;
  for (size_t i = 0; i < w->open_count; ++i) {
    if (w->open[i].event.onset_s >= w->since_s) {
      open[kept++] = w->open[i];
    }
  }
  return kept;
}

SrStatus
sr_window_heard(SrWindow* const w, const SrOpenSound* const open, const size_t open_count,
                const double until_s, SrHeard* const heard)
{
  *heard = (SrHeard){0};
  // The copy lies behind the events, which stay as they are
  if (!make_room(w, 2 * w->count + open_count + 1)) {
    return SR_NO_MEMORY;
  }
  SrEvent* const all = w->events + w->count;
  size_t count = 0;
  // Air belongs to the sounds before it, since a note may seem over while air hides it, unless the
  // next round has begun: air may hide that one's first note too
  double air_until_s = INFINITY;
  double kept_until_s = until_s;
  for (size_t i = 0; i < w->count; ++i) {
    if (w->events[i].onset_s < until_s) {
      all[count++] = w->events[i];
      kept_until_s = fmax(kept_until_s, w->events[i].end_s);
    } else {
      air_until_s = fmin(air_until_s, w->events[i].onset_s);
    }
  }
  for (size_t i = 0; i < open_count; ++i) {
    SrEvent event = open[i].event;
    const bool sags = open[i].falling_s > FALLS_S && open[i].fallen_db < SAG_DB;
    if (!(open[i].falling_s > 0.0) || sags) {
      const double least_s = open[i].seen_s > SR_SURE_SEEN_S ? SURE_S : NO_CUT_S;
      const double now_s = event.end_s + open[i].falling_s;
      event.end_s = fmax(now_s + GOES_ON_S, event.onset_s + least_s);
      event.sounding = true;
    }
    if (event.onset_s < until_s) {
      all[count++] = event;
      kept_until_s = fmax(kept_until_s, event.end_s);
    } else {
      air_until_s = fmin(air_until_s, event.onset_s);
    }
  }
  SrEvent unheard;
  if (sr_hear_unheard(w->hear, &unheard)) {
    move_event(&unheard, w->start_s);
    if (unheard.end_s >= w->since_s && unheard.onset_s < until_s) {
      all[count++] = unheard;
    }
  }
  air_until_s = fmin(air_until_s, kept_until_s);
  size_t air_count = 0;
  while (air_count < w->air_count && w->air[air_count].start_s < air_until_s) {
    ++air_count;
  }
  *heard = (SrHeard){all, count, w->air, air_count, sr_hear_air_carriage(w->hear)};
  return SR_OK;
}
