// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file round_slips.c
   The slips of a round, and what lies within them.
*/

#include "rounds.h"

#include <stdlib.h>

bool
sr_round_is_behind_stop(const SrRound* const round, const size_t note)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    if (round->slips[i].kind == SR_SLIP_STOPPED && round->slips[i].note_index < note) {
      return true;
    }
  }
  return false;
}

/// Whether at least half of the notes of a note's bar lie in a stretch.
static bool
is_bar_inside(const SrRound* const round, const SrSlip* const stretch, const size_t note)
{
  const int bar = round->notes[note].bar;
  size_t from = note;
  size_t to = note + 1;
  while (from > 0 && round->notes[from - 1].bar == bar) {
    --from;
  }
  while (to < round->note_count && round->notes[to].bar == bar) {
    ++to;
  }
  const size_t first = stretch->note_index > from ? stretch->note_index : from;
  const size_t behind = stretch->until < to ? stretch->until : to;
  return behind > first && 2 * (behind - first) >= to - from;
}

void
sr_round_stretch_bars(const SrRound* const round, const SrSlip* const slip, int* const first,
                      int* const last)
{
  *first = *last = slip->bar;
  bool any = false;
  for (size_t i = slip->note_index; i < slip->until && i < round->note_count; ++i) {
    if (is_bar_inside(round, slip, i)) {
      *first = any ? *first : round->notes[i].bar;
      *last = round->notes[i].bar;
      any = true;
    }
  }
}

bool
sr_round_add_slip(SrRound* const round, const SrSlip slip)
{
  SrSlip* const more = (SrSlip*)realloc(round->slips, (round->slip_count + 1) * sizeof(SrSlip));
  if (!more) {
    return false;
  }
  round->slips = more;
  round->slips[round->slip_count++] = slip;
  return true;
}
