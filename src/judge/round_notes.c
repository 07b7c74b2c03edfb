// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file round_notes.c
   Each note of a round from its sounds.

   A repeated note without a sound of its own is joined if the one before lasted to its middle
   (lasted_through()), and missed if not. A grace on the other side of its note than written is
   reported as absent, with the pitch heard.
*/

#include "cut.h"
#include "gathering.h"
#include "median.h"
#include "tuning.h"

#include <math.h>

bool
sr_note_repeats(const SrPhrase* const phrase, const size_t note)
{
  return note > 0 && sr_phrase_note(phrase, note)->midi == sr_phrase_note(phrase, note - 1)->midi;
}

SrNoteVerdict
sr_note_missed(const SrPhrase* const phrase, const size_t note)
{
  const SrPhraseNote* const written = sr_phrase_note(phrase, note);
  return (SrNoteVerdict){.index = note,
                         .bar = written->bar,
                         .midi = written->midi,
                         .status = SR_NOTE_MISSED,
                         .heard_midi = -1,
                         .due_s = (double)NAN,
                         .onset_s = (double)NAN,
                         .end_s = (double)NAN,
                         .offset_ms = (double)NAN,
                         .cents = (double)NAN,
                         .level_db = (double)NAN,
                         .ornament = written->ornament,
                         .speaks_s = (double)NAN,
                         .joined = sr_note_repeats(phrase, note) ? SR_NO : SR_NOT_ASKED};
}

/// Median seconds per whole note over the notes before one, so that a wait among them does not
/// count; NAN if there are too few.
static double
whole_s_before(const SrTake* const take, const SrRound* const round, const size_t i)
{
  double paces[PACE_NOTES];
  size_t count = 0;
  long later = -1;
  for (size_t k = i; k-- > 0 && count < PACE_NOTES;) {
    if (!isfinite(round->notes[k].onset_s)) {
      continue;
    }
    if (later >= 0) {
      const double apart = sr_fraction_value(sr_phrase_note(take->phrase, (size_t)later)->start) -
                           sr_fraction_value(sr_phrase_note(take->phrase, k)->start);
      if (apart > 0.0) {
        paces[count++] = (round->notes[later].onset_s - round->notes[k].onset_s) / apart;
      }
    }
    later = (long)k;
  }
  return count ? sr_median(paces, count) : (double)NAN;
}

/// Seconds per whole note from note `last` to the one after note `i`; NAN if that was not heard.
static double
whole_s_across(const SrTake* const take, const SrGathering* const g, const SrRound* const round,
               const size_t last, const size_t i)
{
  if (i + 1 >= round->note_count || g->main[i + 1] < 0) {
    return (double)NAN;
  }
  const long first = g->cut[i + 1] >= 0 ? g->cut[i + 1] : g->main[i + 1];
  const double apart = sr_fraction_value(sr_phrase_note(take->phrase, i + 1)->start) -
                       sr_fraction_value(sr_phrase_note(take->phrase, last)->start);
  return apart > 0.0 ? (take->sounds[first].onset_s - round->notes[last].onset_s) / apart
                     : (double)NAN;
}

/// Whether a sound that ended at a time lasted to the middle of a note, at the pace of the notes
/// before or of the one after. If neither is known, whether it ended after the onset of the
/// previous note.
static bool
lasted_through(const SrTake* const take, const SrGathering* const g, const SrRound* const round,
               const size_t i, const double end_s)
{
  size_t last = i - 1;
  while (last > 0 && !isfinite(round->notes[last].onset_s)) {
    --last;
  }
  // A wait before the next note does not lengthen this one; fmin() ignores an unknown value
  const double whole_s =
      fmin(whole_s_before(take, round, i), whole_s_across(take, g, round, last, i));
  if (!isfinite(whole_s)) {
    return end_s > round->notes[i - 1].onset_s;
  }
  const SrPhraseNote* const note = sr_phrase_note(take->phrase, i);
  const double start = sr_fraction_value(sr_phrase_note(take->phrase, last)->start);
  const double middle = sr_fraction_value(note->start) + 0.5 * sr_fraction_value(note->length);
  return end_s > round->notes[last].onset_s + whole_s * (middle - start);
}

/// A sound of the preceding chord that has the note's pitch and lasts through it; NULL if none.
static const SrEvent*
held_from_chord(const SrTake* const take, const SrGathering* const g, const SrRound* const round,
                const size_t i)
{
  const SrPhraseNote* const chord = sr_phrase_note(take->phrase, i - 1);
  const int midi = sr_phrase_note(take->phrase, i)->midi;
  bool in_chord = false;
  for (int c = 0; c < chord->chord_count; ++c) {
    in_chord = in_chord || chord->chord_midi[c] == midi;
  }
  if (!in_chord || g->main[i - 1] < 0) {
    return NULL;
  }
  const size_t top = (size_t)g->main[i - 1];
  const size_t first = top > NEIGHBOURS ? top - NEIGHBOURS : 0;
  for (size_t e = first; e < take->sound_count && e <= top + NEIGHBOURS; ++e) {
    const SrEvent* const sound = &take->sounds[e];
    if (sound->midi == midi && sound->onset_s < take->sounds[top].end_s &&
        lasted_through(take, g, round, i, sound->end_s)) {
      return sound;
    }
  }
  return NULL;
}

void
sr_round_fill_note(const SrTake* const take, const SrGathering* const g, SrRound* const round,
                   const size_t i)
{
  const SrPhraseNote* const written = sr_phrase_note(take->phrase, i);
  SrNoteVerdict* const note = &round->notes[i];
  const bool repeats = sr_note_repeats(take->phrase, i);
  *note = sr_note_missed(take->phrase, i);
  const SrEvent* const cut = g->cut[i] >= 0 ? &take->sounds[g->cut[i]] : NULL;
  if (g->main[i] < 0) {
    // The previous note may have sounded through it
    const SrNoteVerdict* const before = i ? &round->notes[i - 1] : NULL;
    const bool may = before && repeats && before->status == SR_NOTE_PLAYED;
    const SrEvent* const held = before && !repeats ? held_from_chord(take, g, round, i) : NULL;
    if (held) {
      note->status = SR_NOTE_PLAYED;
      note->heard_midi = written->midi;
      note->end_s = held->end_s;
      note->level_db = held->level_db;
    } else if (may && (g->on_top[i] || lasted_through(take, g, round, i, before->end_s))) {
      note->status = SR_NOTE_PLAYED;
      note->heard_midi = written->midi;
      note->joined = SR_YES;
      note->end_s = before->end_s;
      note->level_db = before->level_db;
      note->cents = before->cents;
      sr_cut_judge(take, i, cut, NULL, note);
    }
    return;
  }
  const SrEvent* const sound = &take->sounds[g->main[i]];
  note->status = sound->midi == written->midi ? SR_NOTE_PLAYED : SR_NOTE_WRONG;
  for (int c = 0; c < written->chord_count; ++c) {
    if (sound->midi == written->chord_midi[c]) {
      note->status = SR_NOTE_PLAYED;
    }
  }
  note->heard_midi = note->status == SR_NOTE_PLAYED ? sound->midi : sr_event_own_midi(sound);
  note->onset_s = sound->onset_s;
  note->end_s = sound->end_s;
  note->level_db = sound->level_db;
  note->cents = isfinite(sound->frequency_hz)
                    ? 1200.0 * log2(sound->frequency_hz / 440.0) - 100.0 * (sound->midi - 69)
                    : (double)NAN;
  note->graces = g->graces[i];
  note->speaks_s = sound->onset_s;
  const SrEvent* const first = cut ? cut : g->grace[i] >= 0 ? &take->sounds[g->grace[i]] : NULL;
  if (first && first->onset_s < sound->onset_s + 0.005) {
    note->onset_s = first->onset_s;
  }
  sr_cut_judge(take, i, cut, sound, note);
}
