// SPDX-License-Identifier: GPL-3.0-or-later

// The pitch of what sounds, while listening without a phrase.

#include "sitting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Interval between events, s.
#define SHOWN_EVERY_S 0.05
/// Points in a median, at least.
#define LEAST_POINTS 3u
/// A point further than this from the one before, cents, is another note.
#define SAME_NOTE_CENTS 50.0

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
  memcpy(sorted, tuner->hz, sizeof(sorted));
  qsort(sorted, tuner->count, sizeof(double), by_size);
  return sorted[tuner->count / 2];
}

/// Add a point; one of another note begins again.
static void
add(SrTuner* const tuner, const double hz)
{
  const double last_hz = tuner->count ? tuner->hz[tuner->count - 1] : hz;
  if (fabs(1200.0 * log2(hz / last_hz)) > SAME_NOTE_CENTS) {
    tuner->count = 0;
  }
  if (tuner->count == SR_TUNER_POINTS) {
    memmove(tuner->hz, tuner->hz + 1, (SR_TUNER_POINTS - 1) * sizeof(double));
    --tuner->count;
  }
  tuner->hz[tuner->count++] = hz;
}

static void
take_point(SrSession* const session, const SrPitchPoint* const point)
{
  SrTuner* const tuner = &session->tuner;
  if (!(point->frequency_hz > 0.0)) {
    tuner->count = 0;
    return;
  }
  add(tuner, point->frequency_hz);
  // A single point may be wrong
  if (tuner->count < LEAST_POINTS || point->at_s < tuner->next_s) {
    return;
  }
  // As often on average, though points come at other times
  tuner->next_s = fmax(tuner->next_s, point->at_s - SHOWN_EVERY_S) + SHOWN_EVERY_S;
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
    done += sr_pitch_track_push(session->track, samples + done, count - done);
    SrPitchPoint point;
    if (sr_pitch_track_pull(session->track, &point)) {
      take_point(session, &point);
    }
  }
}
