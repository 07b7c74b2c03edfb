// SPDX-License-Identifier: GPL-3.0-or-later

#include "written_lengths.h"

#include "tuning.h"

#include <math.h>

void
sr_written_lengths(const SrPlayedNotes* const played, const SrGridNote* const grid,
                   long* const lengths)
{
  for (size_t i = 0; i < played->count; ++i) {
    const SrPlayedNote* const note = &played->notes[i];
    const double onset_s =
        i > 0 && grid[i - 1].is_grace ? played->notes[i - 1].onset_s : note->onset_s;
    const double quavers = (note->end_s - onset_s) / grid[i].quaver_s;
    // Notes are let go a little early
    const long own = SR_PLACES * (long)fmax(1.0, floor(quavers + LET_GO_QUAVERS));
    size_t next = i + 1;
    while (next < played->count && grid[next].is_grace) {
      ++next;
    }
    const bool last = next >= played->count || grid[next].breaks;
    const long until = last ? own : grid[next].place - grid[i].place;
    const bool rests = !last && until - own >= SR_PLACES &&
                       quavers < (double)until / SR_PLACES - LEAST_REST_QUAVERS;
    lengths[i] = rests ? own : until;
  }
}
