// SPDX-License-Identifier: GPL-3.0-or-later

#include "time_scale.h"

#include <math.h>
#include <stdio.h>

/// Room at either side of a stretch that is shown, as a share of it.
#define ROOM 0.15

static double
clamp(const double value, const double least, const double most)
{
  return fmax(least, fmin(most, value));
}

/// Keep it inside of the recording.
static void
settle(SrTimeScale* const scale)
{
  const double least = fmin(SR_TIME_SCALE_LEAST_S, scale->seconds);
  scale->shown_s = clamp(scale->shown_s, least, scale->seconds);
  scale->from_s = clamp(scale->from_s, 0.0, scale->seconds - scale->shown_s);
}

SrTimeScale
sr_time_scale_all(const double seconds, const double width)
{
  return (SrTimeScale){.seconds = seconds, .from_s = 0.0, .shown_s = seconds, .width = width};
}

double
sr_time_scale_place(const SrTimeScale* const scale, const double at_s)
{
  return scale->width * (at_s - scale->from_s) / scale->shown_s;
}

double
sr_time_scale_time(const SrTimeScale* const scale, const double place)
{
  const double share = scale->width > 0.0 ? place / scale->width : 0.0;
  return clamp(scale->from_s + share * scale->shown_s, 0.0, scale->seconds);
}

void
sr_time_scale_zoom(SrTimeScale* const scale, const double factor, const double about_s)
{
  const double share = (about_s - scale->from_s) / scale->shown_s;
  scale->shown_s *= factor;
  const double least = fmin(SR_TIME_SCALE_LEAST_S, scale->seconds);
  scale->shown_s = clamp(scale->shown_s, least, scale->seconds);
  scale->from_s = about_s - share * scale->shown_s;
  settle(scale);
}

void
sr_time_scale_move(SrTimeScale* const scale, const double from_s)
{
  scale->from_s = from_s;
  settle(scale);
}

void
sr_time_scale_fit(SrTimeScale* const scale, const double from_s, const double to_s)
{
  const double length = to_s - from_s;
  scale->shown_s = length * (1.0 + 2.0 * ROOM);
  scale->from_s = from_s - ROOM * length;
  settle(scale);
}

double
sr_time_scale_step(const SrTimeScale* const scale, const double least_pixels)
{
  static const double steps[] = {0.1,  0.2,  0.5,   1.0,   2.0,   5.0,    10.0,   15.0,
                                 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0, 7200.0};
  const size_t count = sizeof(steps) / sizeof(steps[0]);
  const double least = least_pixels * scale->shown_s / fmax(1.0, scale->width);
  for (size_t i = 0; i < count; ++i) {
    if (steps[i] >= least) {
      return steps[i];
    }
  }
  return 7200.0 * ceil(least / 7200.0);
}

void
sr_time_words(const double at_s, const bool tenths, char words[SR_TIME_WORDS_SIZE])
{
  // 100 hours and more do not fit, and nobody records them
  const long long units = llround(clamp(at_s, 0.0, 359999.0) * 10.0);
  const long long seconds = tenths ? units / 10 : (units + 5) / 10;
  const int hours = (int)(seconds / 3600);
  const int minutes = (int)(seconds / 60 % 60);
  char part[4] = "";
  if (tenths) {
    snprintf(part, sizeof(part), ".%d", (int)(units % 10));
  }
  if (hours > 0) {
    snprintf(words, SR_TIME_WORDS_SIZE, "%d:%02d:%02d%s", hours, minutes, (int)(seconds % 60),
             part);
  } else {
    snprintf(words, SR_TIME_WORDS_SIZE, "%d:%02d%s", minutes, (int)(seconds % 60), part);
  }
}
