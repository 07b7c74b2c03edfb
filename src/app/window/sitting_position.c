// SPDX-License-Identifier: GPL-3.0-or-later

// Where the player is in the phrase: after the last note heard, at the pace of those before it.

#include "sitting_state.h"

#include <math.h>

/// The marker goes on for this long after the last note should have ended, notes.
#define BEYOND 1.0
/// Notes over which the pace is measured.
#define PACE_NOTES 6u

static double
start_of(const SrSitting* const sitting, const size_t note)
{
  return sr_fraction_value(sr_phrase_note(sitting->chosen->phrase, note)->start);
}

/// Whole notes a second over the last notes before `last`; 0 if unknown.
static double
pace_at(const SrSitting* const sitting, const size_t last)
{
  const SrNoteVerdict* const notes = sitting->notes;
  double pace = 0.0;
  for (size_t i = last; i-- > 0 && last - i <= PACE_NOTES;) {
    const double seconds = notes[last].onset_s - notes[i].onset_s;
    pace = isfinite(seconds) && seconds > 0.0
               ? (start_of(sitting, last) - start_of(sitting, i)) / seconds
               : pace;
  }
  return pace;
}

double
sr_sitting_position(SrSitting* const sitting)
{
  if (sitting->phase != SR_SITTING_PLAYING || sitting->reached == 0) {
    return (double)NAN;
  }
  size_t last = sitting->reached - 1;
  while (last > 0 && !isfinite(sitting->notes[last].onset_s)) {
    --last;
  }
  const double onset_s = sitting->notes[last].onset_s;
  const double now_s = sitting->at_s + (double)(g_get_monotonic_time() - sitting->at_us) / 1e6;
  const double start = start_of(sitting, last);
  const double length = sr_fraction_value(sr_phrase_note(sitting->chosen->phrase, last)->length);
  const double pace = pace_at(sitting, last);
  const double gone = isfinite(onset_s) && pace > 0.0 ? pace * (now_s - onset_s) : 0.0;
  return start + CLAMP(gone, 0.0, (1.0 + BEYOND) * length);
}
