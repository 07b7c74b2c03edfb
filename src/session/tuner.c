// SPDX-License-Identifier: GPL-3.0-or-later

// The pitch of what sounds, while listening without a phrase: which note by aubio's YIN, how far it
// is off by the phases of its harmonics.

#include "session_state.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Interval between events, s.
#define SHOWN_EVERY_S 0.05
/// A point further than this from the one before, cents, is another note.
#define SAME_NOTE_CENTS 50.0
/// So long after a note's first point, s, what sounds in all that is measured is this note.
#define SETTLED_S 0.06

static int
by_size(const void* const a, const void* const b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

static double
median(const SrTuner* const tuner)
{
  double sorted[SR_TUNER_POINTS];
  memcpy(sorted, tuner->hz, tuner->count * sizeof(double));
  qsort(sorted, tuner->count, sizeof(double), by_size);
  return sorted[tuner->count / 2];
}

static void
add(SrTuner* const tuner, const double hz)
{
  if (tuner->count == SR_TUNER_POINTS) {
    memmove(tuner->hz, tuner->hz + 1, (SR_TUNER_POINTS - 1) * sizeof(double));
    --tuner->count;
  }
  tuner->hz[tuner->count++] = hz;
}

/// Whether a point belongs to the note that sounds; another note begins otherwise.
static bool
goes_on(SrTuner* const tuner, const SrPitchPoint* const point)
{
  const double hz = point->frequency_hz;
  const bool same = tuner->rough_hz > 0.0 && hz > 0.0 &&
                    fabs(1200.0 * log2(hz / tuner->rough_hz)) < SAME_NOTE_CENTS;
  tuner->rough_hz = hz;
  if (!same) {
    tuner->began_s = point->at_s;
    tuner->count = 0;
  }
  return same;
}

static void
take_point(SrSession* const session, const SrPitchPoint* const point)
{
  SrTuner* const tuner = &session->tuner;
  if (!goes_on(tuner, point) || point->at_s < tuner->began_s + SETTLED_S ||
      point->at_s < tuner->next_s) {
    return;
  }
  // As often on average, though points come at other times
  tuner->next_s = fmax(tuner->next_s, point->at_s - SHOWN_EVERY_S) + SHOWN_EVERY_S;
  add(tuner, sr_fine_pitch_hz(tuner->fine, point->frequency_hz));
  const double hz = median(tuner);
  const double midi = 69.0 + 12.0 * log2(hz / session->reference_hz);
  sr_session_report(session, (SrSessionEvent){.kind = SR_SESSION_PITCH,
                                              .pitch = {.frequency_hz = hz,
                                                        .midi = (int)lround(midi),
                                                        .cents = 100.0 * (midi - round(midi)),
                                                        .reference_hz = session->reference_hz,
                                                        .level_db = point->level_db}});
}

void
sr_tuner_listen(SrSession* const session, const float* const samples, const size_t count)
{
  for (size_t done = 0; done < count;) {
    const size_t taken = sr_pitch_track_push(session->track, samples + done, count - done);
    sr_fine_pitch_push(session->tuner.fine, samples + done, taken);
    done += taken;
    SrPitchPoint point;
    if (sr_pitch_track_pull(session->track, &point)) {
      take_point(session, &point);
    }
  }
}
