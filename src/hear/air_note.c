// SPDX-License-Identifier: GPL-3.0-or-later

#include "air_note.h"

#include "profile.h"
#include "tuning.h"

#include <math.h>

/// A window's frequency moved to a pitch's octave, since the octave may have been measured; NAN if
/// it is not an octave of it.
static double
frequency_in(const SrProfile* const profile, const SrAirWindow* const w, const size_t pitch)
{
  const double nominal_hz = sr_profile_frequency_hz(profile, pitch);
  const double hz = w->frequency_hz * exp2(round(log2(nominal_hz / w->frequency_hz)));
  return fabs(1200.0 * log2(hz / nominal_hz)) < MOST_BENT_CENTS ? hz : (double)NAN;
}

void
sr_air_note_measure(const SrProfile* const profile, const SrAirWindow* const windows,
                    const size_t count, SrAirHeard* const heard)
{
  heard->dip_db = (double)NAN;
  heard->bend_cents = (double)NAN;
  if (heard->midi < 0) {
    return;
  }
  const size_t pitch = (size_t)(heard->midi - SR_LOWEST_MIDI);
  // Just before and just after, and the distance of each
  double outside[2] = {0.0, 0.0};
  double away_s[2] = {ABOUT_S, ABOUT_S};
  double inside = INFINITY;
  double outside_hz = 0.0;
  double outside_hz_count = 0.0;
  double bend = 0.0;
  bool bent = false;
  for (size_t i = 0; i < count; ++i) {
    const SrAirWindow* const w = &windows[i];
    if (!w->note || w->pitch != pitch) {
      continue;
    }
    const bool before = w->time_s < heard->start_s - 0.25 * SR_INTER_HARMONIC_WINDOW_S;
    const bool behind = w->time_s > heard->end_s + 0.25 * SR_INTER_HARMONIC_WINDOW_S;
    const double apart = fmax(heard->start_s - w->time_s, w->time_s - heard->end_s);
    if ((before || behind) && apart < ABOUT_S) {
      const double hz = frequency_in(profile, w, pitch);
      outside_hz += isfinite(hz) ? hz : 0.0;
      outside_hz_count += isfinite(hz) ? 1.0 : 0.0;
      if (apart < away_s[behind]) {
        outside[behind] = w->power;
        away_s[behind] = apart;
      }
    }
  }
  for (size_t i = 0; i < count; ++i) {
    const SrAirWindow* const w = &windows[i];
    if (!w->note || w->pitch != pitch || w->time_s < heard->start_s || w->time_s > heard->end_s) {
      continue;
    }
    inside = fmin(inside, w->power);
    const double hz = frequency_in(profile, w, pitch);
    if (isfinite(hz) && outside_hz_count > 0.0) {
      const double cents = 1200.0 * log2(hz / (outside_hz / outside_hz_count));
      bend = !bent || fabs(cents) > fabs(bend) ? cents : bend;
      bent = true;
    }
  }
  heard->bend_cents = bent ? bend : (double)NAN;
  const double sides = (outside[0] > 0.0) + (outside[1] > 0.0);
  if (sides > 0.0 && isfinite(inside)) {
    heard->dip_db = fmax(0.0, 10.0 * log10((outside[0] + outside[1]) / sides / inside));
  }
}
