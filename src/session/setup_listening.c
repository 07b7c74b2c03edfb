// SPDX-License-Identifier: GPL-3.0-or-later

#include "setup_steps.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/// If round trips differ by more than this, s, ahead and behind cannot be judged.
#define MOST_SPREAD_S 0.010
/// Levels that deserve a remark, dBFS (common practice, no source).
#define FLOOR_HIGH_DB (-45.0)
#define PEAK_HIGH_DB (-3.0)
#define PEAK_LOW_DB (-30.0)
/// The loudest playing is at least this much over the room's loudest, dB.
#define OVER_ROOM_DB 6.0

static void
report(const SrSetupListening* const listening, const SrSetupProgress progress)
{
  listening->watch->progress(listening->watch->context, &progress);
}

static double
dbfs(const float peak)
{
  return 20.0 * log10((double)peak + 1e-9);
}

static void
add_level(SrSetupSound* const sound, const SrSessionEvent* const event)
{
  sound->energy += event->level.energy;
  sound->samples += event->level.samples;
  sound->peak = fmaxf(sound->peak, event->level.peak);
  sound->overdriven = sound->overdriven || event->level.overdriven;
}

/// The room is measured; false if there is no input at all.
static bool
find_floor(SrSetupListening* const l)
{
  if (l->room.peak < SR_DEAD_LEVEL) {
    report(l, (SrSetupProgress){.kind = SR_SETUP_DEAD, .input = l->input});
    return false;
  }
  const double rms_dbfs = 10.0 * log10(l->room.energy / fmax(1.0, (double)l->room.samples) + 1e-12);
  l->found->floor_dbfs = rms_dbfs;
  l->found->floor_high = rms_dbfs > FLOOR_HIGH_DB;
  report(l, (SrSetupProgress){.kind = SR_SETUP_FLOOR, .floor = {rms_dbfs, l->found->floor_high}});
  return true;
}

static void
find_loudest(SrSetupListening* const l)
{
  const double loudest_dbfs = dbfs(l->loud.peak);
  l->found->loudest_dbfs = loudest_dbfs;
  l->found->loudness = l->loud.overdriven || loudest_dbfs > PEAK_HIGH_DB  ? SR_SETUP_OVERDRIVEN
                       : loudest_dbfs < dbfs(l->room.peak) + OVER_ROOM_DB ? SR_SETUP_NOT_HEARD
                       : loudest_dbfs < PEAK_LOW_DB                       ? SR_SETUP_SOFT
                                                                          : SR_SETUP_LOUD_GOOD;
  l->found->outcome = SR_SETUP_MEASURED;
  report(l, (SrSetupProgress){.kind = SR_SETUP_LOUDEST,
                              .loudest = {loudest_dbfs, l->found->loudness}});
}

static void
take_room_level(SrSetupListening* const l, const SrSessionEvent* const event)
{
  add_level(l->room_until_s > 0.0 ? &l->loud : &l->room, event);
  if (l->room_until_s > 0.0) {
    l->done = event->at_s >= l->room_until_s + SR_SETUP_LOUD_S;
    if (l->done) {
      find_loudest(l);
    }
  } else if (event->at_s >= SR_SETUP_ROOM_S) {
    l->room_until_s = event->at_s;
    l->done = !find_floor(l);
  }
}

static void
take_level(SrSetupListening* const l, const SrSessionEvent* const event)
{
  report(l, (SrSetupProgress){.kind = SR_SETUP_LEVEL,
                              .level = {event->at_s, event->level.peak, event->level.overdriven}});
  if (l->found->step == SR_SETUP_ROOM) {
    take_room_level(l, event);
  }
}

static void
take_note(SrSetupListening* const l, const SrFreeNote* const note)
{
  const double seconds = note->end_s - note->onset_s;
  if (l->found->step == SR_SETUP_REEDS) {
    ++l->found->notes;
    report(l, (SrSetupProgress){.kind = SR_SETUP_REED, .note = *note});
  } else if (l->found->step == SR_SETUP_BELLOWS && seconds >= SR_SETUP_STROKE_S) {
    l->strokes[l->found->notes++] = (SrStroke){note->midi, seconds};
    l->done = l->found->notes == SR_SETUP_STROKES;
    report(l, (SrSetupProgress){.kind = SR_SETUP_STROKE, .note = *note});
  }
}

void
sr_setup_listening_take(SrSetupListening* const l, const SrSessionEvent* const event)
{
  if (l->done) {
    return;
  }
  if (event->kind == SR_SESSION_READY) {
    snprintf(l->input, sizeof(l->input), "%s", event->ready.input);
    report(l, (SrSetupProgress){.kind = SR_SETUP_OPENED, .input = l->input});
  } else if (event->kind == SR_SESSION_LEVEL) {
    take_level(l, event);
  } else if (event->kind == SR_SESSION_HEARD) {
    take_note(l, &event->heard);
  }
}

void
sr_setup_listening_finish(SrSetupListening* const l)
{
  SrSetupFound* const found = l->found;
  if (found->step == SR_SETUP_BELLOWS && found->notes &&
      sr_bellows_fit(l->strokes, found->notes, &found->bellows, &found->bellows_uncertainty) ==
          SR_OK) {
    found->outcome = SR_SETUP_MEASURED;
  }
}

static int
compare(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

void
sr_setup_round_trip_find(double* const times_s, SrSetupFound* const found)
{
  found->outcome = SR_SETUP_NOTHING;
  found->round_trip_s = (double)NAN;
  found->round_trip_spread_s = (double)NAN;
  found->round_trip_steady = false;
  for (size_t i = 0; i < SR_SETUP_TIMES; ++i) {
    if (!isfinite(times_s[i])) {
      return;
    }
  }
  qsort(times_s, SR_SETUP_TIMES, sizeof(double), compare);
  found->outcome = SR_SETUP_MEASURED;
  found->round_trip_s = times_s[SR_SETUP_TIMES / 2];
  found->round_trip_spread_s = times_s[SR_SETUP_TIMES - 1] - times_s[0];
  found->round_trip_steady = found->round_trip_spread_s <= MOST_SPREAD_S;
}
