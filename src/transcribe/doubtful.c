// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file doubtful.c
   The notes around a long grace are laid once with it and once without; where both readings are
   about as likely, it is doubtful.
*/

#include "doubtful.h"

#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// What a reading gains that must be taken, nats.
#define FORCED_NATS 200.0

/// Notes around a grace, and room for their places.
typedef struct {
  SrPlayedNote notes[2 * DOUBT_AROUND + 1];
  SrGridNote places[2 * DOUBT_AROUND + 1];
} Around;

/// How much likelier a note is a grace than not.
static SrStatus
compare(const SrPlayedNotes* const played, const SrGrid* const grid, const size_t index,
        Around* const around, double* const nats)
{
  size_t from = index > DOUBT_AROUND ? index - DOUBT_AROUND : 0;
  from += grid->notes[from].is_grace && from < index;
  const size_t end =
      index + DOUBT_AROUND < played->count ? index + DOUBT_AROUND + 1 : played->count;
  const SrPlayedNotes some = {.notes = around->notes, .count = end - from};
  memcpy(around->notes, played->notes + from, some.count * sizeof(SrPlayedNote));
  const int round = sr_steps_round(grid->wish.kind);
  SrGridWish wish = grid->wish;
  wish.quaver_s = grid->notes[index].quaver_s;
  wish.begin = from < index ? (int)(grid->notes[from].place % round) : SR_ANY_PLACE;
  SrPlayedNote* const grace = &around->notes[index - from];
  double with = 0.0;
  double without = 0.0;
  grace->grace_nats += FORCED_NATS;
  SrStatus status = sr_beam_search(&some, &wish, around->places, &with);
  grace->grace_nats = (double)NAN;
  if (status == SR_OK) {
    status = sr_beam_search(&some, &wish, around->places, &without);
  }
  *nats = with - FORCED_NATS - without;
  return status;
}

SrStatus
sr_doubtful_find(const SrPlayedNotes* const played, const SrGrid* const grid, bool* const doubtful)
{
  Around* const around = (Around*)calloc(1, sizeof(Around));
  SrStatus status = around ? SR_OK : SR_NO_MEMORY;
  for (size_t i = 0; i + 1 < played->count && status == SR_OK; ++i) {
    if (grid->notes[i].is_grace && isfinite(played->notes[i].grace_nats)) {
      double nats = 0.0;
      status = compare(played, grid, i, around, &nats);
      doubtful[i] = status == SR_OK && nats < DOUBT_NATS;
    }
  }
  free(around);
  return status;
}
