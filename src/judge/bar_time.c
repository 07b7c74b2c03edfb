// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file bar_time.c
   Which time of a repeated bar something went wrong in. Notes are the same one in two times if they
   stand at the same place of bars with the same number.
*/

#include <steadyreed/judge.h>

/// Whether something went wrong at a note, other than its timing.
static bool
went_wrong(const SrRound* const round, const size_t index)
{
  const SrNoteVerdict* const note = &round->notes[index];
  bool wrong = note->status != SR_NOTE_PLAYED || note->joined == SR_YES ||
               (note->has_cut && note->cut.verdict != SR_CUT_CLEAN);
  for (size_t i = 0; i < round->slip_count; ++i) {
    wrong = wrong || round->slips[i].note_index == index;
  }
  for (size_t i = 0; i < round->air_count; ++i) {
    wrong = wrong || (round->air[i].audible && round->air[i].note_index == index);
  }
  for (size_t i = 0; i < round->insertion_count; ++i) {
    size_t at = round->note_count;
    (void)sr_round_insertion_kind(round, i, &at);
    wrong = wrong || at == index;
  }
  return wrong;
}

const char*
sr_round_time_of(const SrPhrase* const phrase, const SrRound* const round, const size_t note)
{
  static const char* const words[] = {"first time", "second time", "third time",   "fourth time",
                                      "fifth time", "sixth time",  "seventh time", "eighth time"};
  if (!phrase || round->note_count > sr_phrase_note_count(phrase)) {
    return "";
  }
  const SrPhraseNote* const here = sr_phrase_note(phrase, note);
  size_t number = 0;
  size_t total = 0;
  bool only = here->bar > 0;
  for (size_t i = 0; only && i < round->note_count; ++i) {
    const SrPhraseNote* const other = sr_phrase_note(phrase, i);
    if (other->bar == here->bar &&
        sr_fraction_value(other->in_bar) == sr_fraction_value(here->in_bar)) {
      number += i <= note;
      ++total;
      only = i == note || !went_wrong(round, i);
    }
  }
  if (!only || total < 2) {
    return "";
  }
  return number <= sizeof(words) / sizeof(words[0]) ? words[number - 1] : "last time";
}
