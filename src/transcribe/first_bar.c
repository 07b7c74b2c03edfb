// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file first_bar.c
   The notes are laid again with the first of them on each place of the pulse, and bars from each
   place where they may begin; how likely these readings are tells how sure the one kept is.
*/

#include "first_bar.h"

#include "written_lengths.h"

#include <math.h>
#include <stdlib.h>

/// Most places at which the first note may lie in a bar.
#define MOST_PLACES (12 * SR_PLACES)

/// Add the readings with the first note on one place of the pulse.
static SrStatus
add_readings(const SrPlayedNotes* const played, const SrGrid* const grid, const SrBars* const bars,
             const int begin, SrGridNote* const notes, long* const lengths, double* const nats)
{
  SrGridWish wish = grid->wish;
  wish.begin = begin;
  double grid_nats = 0.0;
  const SrStatus status = sr_beam_search(played, &wish, notes, &grid_nats);
  if (status != SR_OK) {
    return status;
  }
  sr_written_lengths(played, notes, lengths);
  const long bar = (long)bars->quavers * SR_PLACES;
  for (long from = 0; from < bar; from += sr_bars_step(bars)) {
    const long within = ((notes[0].place - from) % bar + bar) % bar;
    // Both halves of four quavers may be that place
    nats[within] =
        fmax(nats[within], grid_nats + sr_steps_begin_nats(wish.kind, begin) +
                               sr_bars_explain(bars, notes, lengths, played->count, from));
  }
  return SR_OK;
}

SrStatus
sr_first_bar_sure(const SrPlayedNotes* const played, const SrGrid* const grid,
                  const SrBars* const bars, double* const sure)
{
  double nats[MOST_PLACES];
  for (int i = 0; i < MOST_PLACES; ++i) {
    nats[i] = (double)-INFINITY;
  }
  SrGridNote* const notes = (SrGridNote*)calloc(played->count + 1, sizeof(SrGridNote));
  long* const lengths = (long*)calloc(played->count + 1, sizeof(long));
  SrStatus status = notes && lengths ? SR_OK : SR_NO_MEMORY;
  const int round = sr_steps_round(grid->wish.kind);
  for (int begin = 0; begin < round && status == SR_OK; begin += SR_PLACES) {
    status = add_readings(played, grid, bars, begin, notes, lengths, nats);
  }
  const long kept = grid->notes[0].place % ((long)bars->quavers * SR_PLACES);
  double all = 0.0;
  for (int i = 0; i < MOST_PLACES; ++i) {
    all += exp(fmin(100.0, nats[i] - nats[kept]));
  }
  *sure = isfinite(nats[kept]) ? 1.0 / all : 0.0;
  free(notes);
  free(lengths);
  return status;
}
