// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file advice_flow.c
   Advice on slips: waits, stretches at another tempo, restarts, stops, what was left out.
*/

#include "adviser.h"
#include "tuning.h"

#include <math.h>

/// Weight of a hesitation or a hurried note.
static double
break_weight(const SrAdviser* const a, const SrSlip* const slip)
{
  const double pulses = fabs(slip->wait_s) * a->round->pulse.played_bpm / 60.0;
  return BREAK_WEIGHT * (1.0 + (isfinite(pulses) ? fmin(MOST_BREAK_PULSES, pulses) : 0.0));
}

/// A hesitation, with its reason if insertions explain it.
static void
advise_on_wait(SrAdviser* const a, const SrSlip* const slip, const char* const name)
{
  const SrRound* const round = a->round;
  bool corrected = false;
  bool again_played = false;
  for (size_t i = 0; i < round->insertion_count; ++i) {
    size_t note = 0;
    if (sr_round_is_same_slip(round, slip, i)) {
      const bool is_corrected = sr_round_insertion_kind(round, i, &note) == SR_INSERTION_CORRECTED;
      corrected = corrected || is_corrected;
      again_played = again_played || !is_corrected;
    }
  }
  const double weight = break_weight(a, slip);
  if (corrected) {
    sr_adviser_say(
        a, weight,
        "%s: you hit another note first, then %s, and held up the beat for %.1f s; let a slip go "
        "while you play, and find its button slowly afterwards",
        sr_adviser_place(a, slip->note_index), name, slip->wait_s);
  } else if (again_played) {
    sr_adviser_say(
        a, weight,
        "%s: you played a note twice before %s and held up the beat for %.1f s; play the bar "
        "before and this one together at half speed",
        sr_adviser_place(a, slip->note_index), name, slip->wait_s);
  } else {
    sr_adviser_say(
        a, weight,
        "%s: you waited %.1f s before %s; play the bar before and this one together at half speed",
        sr_adviser_place(a, slip->note_index), slip->wait_s, name);
  }
}

/// A stretch slower or faster than the rest of the round.
static void
advise_on_stretch(SrAdviser* const a, const SrSlip* const slip)
{
  int first;
  int last;
  sr_round_stretch_bars(a->round, slip, &first, &last);
  size_t note = slip->note_index;
  while (note + 1 < a->round->note_count && a->round->notes[note].bar != first) {
    ++note;
  }
  sr_adviser_say(
      a, break_weight(a, slip),
      slip->wait_s > 0.0 ? "%s: this took you %.0f %% longer than the rest (%.1f s in all); play "
                           "it on its own until it is up to speed, then with the bar before"
                         : "%s: this took you %.0f %% less time than the rest (%.1f s in all); "
                           "tap the pulse through it and through the bar before",
      sr_adviser_place_to(a, note, last), fabs(slip->longer_percent), fabs(slip->wait_s));
}

void
sr_advise_on_flow(SrAdviser* const a)
{
  char name[NAME_SIZE];
  for (size_t s = 0; s < a->round->slip_count; ++s) {
    const SrSlip* const slip = &a->round->slips[s];
    sr_adviser_name_note(a, slip->note_index, name, sizeof(name));
    switch (slip->kind) {
    case SR_SLIP_HESITATION:
      advise_on_wait(a, slip, name);
      break;
    case SR_SLIP_HURRIED:
      sr_adviser_say(a, break_weight(a, slip),
                     "%s: %s came %.1f s too soon; tap the pulse through the note before it",
                     sr_adviser_place(a, slip->note_index), name, -slip->wait_s);
      break;
    case SR_SLIP_OTHER_TEMPO:
      advise_on_stretch(a, slip);
      break;
    case SR_SLIP_RESTART:
      sr_adviser_say(
          a, 1.1,
          "%s: you went back to %s; play from the bar before it to the bar after it a few times",
          sr_adviser_place(a, slip->note_index), name);
      break;
    case SR_SLIP_STOPPED:
      sr_adviser_say(
          a, BREAK_WEIGHT + UNPLAYED_WEIGHT * (double)(a->round->note_count - 1 - slip->note_index),
          "%s: you stopped after %s; pick the tune up again a bar before that",
          sr_adviser_place(a, slip->note_index), name);
      break;
    case SR_SLIP_LEFT_OUT:
      if (slip->note_index == sr_round_beginning(a->round)) {
        sr_adviser_say(a, LATE_BEGINNING_WEIGHT,
                       "%s: you started at this bar; play what comes before it too",
                       sr_adviser_place(a, slip->note_index));
        break;
      }
      sr_adviser_say(
          a, BREAK_WEIGHT + UNPLAYED_WEIGHT * (double)slip->left_out,
          "%s: you jumped to %s and left out %zu note%s before it; play slowly from a bar before "
          "the gap to a bar after it",
          sr_adviser_place(a, slip->note_index), name, slip->left_out,
          slip->left_out == 1 ? "" : "s");
      break;
    case SR_SLIP_FALSE_START:
      sr_adviser_say(
          a, 0.6,
          "%s: you stopped after %s and started again; hear a bar in your head before you start",
          sr_adviser_place(a, slip->note_index), name);
      break;
    }
  }
}
