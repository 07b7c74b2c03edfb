// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file advice_notes.c
   Advice on wrong and missed notes, and on unwritten cuts and notes.
*/

#include "adviser.h"
#include "tuning.h"

#include <stdlib.h>

void
sr_advise_on_more(SrAdviser* const a)
{
  const SrRound* const round = a->round;
  char name[NAME_SIZE];
  size_t stray = 0;
  size_t first = 0;
  for (size_t i = 0; i < round->note_count; ++i) {
    if (round->notes[i].has_cut && round->notes[i].cut.verdict == SR_CUT_STRAY) {
      first = stray++ ? first : i;
    }
  }
  if (stray) {
    sr_adviser_name_note(a, first, name, sizeof(name));
    sr_adviser_say(
        a, 0.5 * (double)stray,
        stray < MANY_CUTS
            ? "%s, stray cut%s: none is written before %s; keep that finger still, or write the "
              "cut into the tune"
            : "%s, stray cut%s: none is written before %s; if you mean them, write them into the "
              "tune and they will be judged",
        sr_adviser_place(a, first), sr_adviser_again(a, stray), name);
  }
  size_t others = 0;
  size_t first_other = 0;
  size_t corrected = 0;
  size_t first_corrected = 0;
  for (size_t i = 0; i < round->insertion_count; ++i) {
    size_t note = 0;
    const SrInsertionKind kind = sr_round_insertion_kind(round, i, &note);
    if (sr_round_insertion_has_slip(round, i) || note == round->note_count) {
      continue;
    }
    if (kind == SR_INSERTION_CORRECTED) {
      first_corrected = corrected++ ? first_corrected : note;
    } else {
      first_other = others++ ? first_other : i;
    }
  }
  if (others) {
    size_t note = 0;
    const bool twice = sr_round_insertion_kind(round, first_other, &note) == SR_INSERTION_AGAIN;
    const bool before = round->notes[note].onset_s > round->insertions[first_other].onset_s;
    sr_adviser_name_note(a, note, name, sizeof(name));
    sr_adviser_say(
        a, 1.0 * (double)others,
        twice ? "%s: you played %s%s twice%s; play that bar slowly and count its notes"
              : "%s: there was an extra note %s %s%s; play that bar slowly and see which finger "
                "catches it",
        sr_adviser_place(a, note),
        twice    ? ""
        : before ? "before"
                 : "after",
        name, sr_adviser_again(a, others));
  }
  if (corrected) {
    sr_adviser_name_note(a, first_corrected, name, sizeof(name));
    sr_adviser_say(
        a, 1.0 * (double)corrected,
        "%s: you hit another note first, then %s, and kept the beat%s; well saved, now find its "
        "button slowly",
        sr_adviser_place(a, first_corrected), name, sr_adviser_again(a, corrected));
  }
}

void
sr_advise_on_notes(SrAdviser* const a)
{
  size_t missed = 0;
  size_t wrong = 0;
  size_t first_missed = 0;
  size_t first_wrong = 0;
  for (size_t i = 0; i < a->round->note_count; ++i) {
    const SrNoteVerdict* const note = &a->round->notes[i];
    if (note->status == SR_NOTE_MISSED && !note->left_out &&
        !sr_round_is_behind_stop(a->round, i)) {
      first_missed = missed++ ? first_missed : i;
    }
    if (note->status == SR_NOTE_WRONG) {
      first_wrong = wrong++ ? first_wrong : i;
    }
  }
  char name[NAME_SIZE];
  if (wrong) {
    const SrNoteVerdict* const note = &a->round->notes[first_wrong];
    const int step = note->heard_midi - note->midi;
    sr_adviser_name_note(a, first_wrong, name, sizeof(name));
    sr_adviser_say(
        a, 1.5 * (double)wrong,
        "%s, wrong note%s: %s came out %d semitone%s %s; find its button slowly, then carry on",
        sr_adviser_place(a, first_wrong), sr_adviser_again(a, wrong), name, abs(step),
        abs(step) == 1 ? "" : "s", step > 0 ? "higher" : "lower");
  }
  if (missed) {
    sr_adviser_name_note(a, first_missed, name, sizeof(name));
    sr_adviser_say(a, 1.4 * (double)missed,
                   "%s: you missed %s%s; play that bar on its own until it speaks every time",
                   sr_adviser_place(a, first_missed), name, sr_adviser_again(a, missed));
  }
}
