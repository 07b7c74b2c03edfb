// SPDX-License-Identifier: GPL-3.0-or-later

#include "onset.h"

#include <math.h>

/// For an abrupt start, the time from a tenth to a half of the smeared rise: from the integral of
/// Hann's window of 20 ms.
#define ABRUPT_MS 4.8

static double
crossing(const float* const rise, const size_t from, const float level)
{
  size_t i = from;
  while (i > 0 && rise[i - 1] >= level) {
    --i;
  }
  if (i == 0) {
    return 0.0;
  }
  const float step = rise[i] - rise[i - 1];
  return (double)(i - 1) + (step > 0.0f ? (double)((level - rise[i - 1]) / step) : 1.0);
}

double
sr_onset_find(const float* const rise, const size_t count, const size_t noticed,
              const double frame_ms)
{
  size_t top = noticed;
  for (size_t i = noticed; i < count; ++i) {
    if (rise[i] > rise[top]) {
      top = i;
    }
  }
  size_t bottom = noticed;
  for (size_t i = noticed; i-- > 0;) {
    if (rise[i] < rise[bottom]) {
      bottom = i;
    } else if (rise[i] > 1.5f * rise[bottom] + 0.03f * rise[top]) {
      break;
    }
  }
  const float base = rise[bottom];
  const float height = rise[top] - base;
  if (!(height > 0.0f)) {
    return (double)noticed;
  }
  // The first time it is half way up and stays there; a later dip is no new start
  size_t up = bottom;
  while (up < top && (rise[up] < base + 0.5f * height || rise[up + 1] < base + 0.5f * height)) {
    ++up;
  }
  const double half = crossing(rise, up, base + 0.5f * height);
  const double tenth = crossing(rise, (size_t)ceil(half), base + 0.1f * height);
  const double spread_ms = fmax((half - tenth) * frame_ms, ABRUPT_MS);
  return tenth + ABRUPT_MS * pow(ABRUPT_MS / spread_ms, 1.3) / frame_ms;
}
