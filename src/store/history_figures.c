// SPDX-License-Identifier: GPL-3.0-or-later

// A round as judged, in the figures that progress is told from.

#include "history_figures.h"

#include <math.h>
#include <stdlib.h>

/// Whether audible air lies under or after a note.
static bool
is_air_heard(const SrRound* const round, const size_t note)
{
  for (size_t i = 0; i < round->air_count; ++i) {
    if (round->air[i].note_index == note && round->air[i].audible) {
      return true;
    }
  }
  return false;
}

/// Whether a note is asked for: not lost by the recording, nor before where the round began.
static bool
is_asked(const SrRound* const round, const size_t note)
{
  return round->notes[note].status != SR_NOTE_UNHEARD && note >= sr_round_beginning(round);
}

SrRoundFigures
sr_round_figures(const SrRound* const round)
{
  SrRoundFigures figures = {.notes = (unsigned)round->asked.notes,
                            .cuts = (unsigned)round->asked.cuts,
                            .spread_ms = round->pulse.spread_ms,
                            .offset_ms = round->pulse.mean_offset_ms,
                            .alone_ms = (double)NAN,
                            .seconds = fmax(0.0, round->end_s - round->start_s)};
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    const bool played = note->status == SR_NOTE_PLAYED;
    figures.notes_right += played && is_asked(round, i);
    figures.cuts_clean += is_asked(round, i) && note->has_cut && note->cut.verdict == SR_CUT_CLEAN;
    if (note->air_asked && (played || note->status == SR_NOTE_WRONG)) {
      ++figures.air;
      figures.air_heard += is_air_heard(round, i);
    }
  }
  double sum_ms = 0.0;
  for (size_t i = 0; i < round->alone_count; ++i) {
    if (isfinite(round->alone[i].change_ms)) {
      sum_ms += fabs(round->alone[i].change_ms);
      ++figures.alone;
    }
  }
  if (figures.alone) {
    figures.alone_ms = sum_ms / figures.alone;
  }
  return figures;
}

/// The entry of a bar; the list has room for one more.
static SrBarFigures*
entry_of(SrBarFigures* const bars, size_t* const count, const int bar)
{
  for (size_t i = *count; i-- > 0;) {
    if (bars[i].bar == bar) {
      return &bars[i];
    }
  }
  bars[*count] = (SrBarFigures){.bar = bar, .rounds = 1};
  return &bars[(*count)++];
}

static void
count_note(const SrRound* const round, const size_t index, SrBarFigures* const bar)
{
  const SrNoteVerdict* const note = &round->notes[index];
  if (!is_asked(round, index) || sr_round_is_behind_stop(round, index)) {
    return;
  }
  ++bar->notes;
  bar->wrong += note->status == SR_NOTE_MISSED || note->status == SR_NOTE_WRONG;
  const bool cut = sr_ornament_is_judged(note->ornament);
  bar->cuts += cut;
  bar->cuts_faulty += cut && !(note->has_cut && note->cut.verdict == SR_CUT_CLEAN);
  bar->joined += !cut && note->joined == SR_YES;
}

SrBarFigures*
sr_round_bars(const SrRound* const round, size_t* const count)
{
  *count = 0;
  const size_t notes = round->note_count;
  SrBarFigures* const bars = (SrBarFigures*)calloc(notes + 1, sizeof(SrBarFigures));
  if (!bars || !notes) {
    return bars;
  }
  for (size_t i = 0; i < notes; ++i) {
    count_note(round, i, entry_of(bars, count, round->notes[i].bar));
  }
  for (size_t i = 0; i < round->insertion_count; ++i) {
    size_t note = 0;
    (void)sr_round_insertion_kind(round, i, &note);
    // One mistake with a slip is counted there
    if (!sr_round_insertion_has_slip(round, i)) {
      ++entry_of(bars, count, round->notes[note < notes ? note : notes - 1].bar)->inserted;
    }
  }
  for (size_t i = 0; i < round->slip_count; ++i) {
    const size_t note = round->slips[i].note_index;
    ++entry_of(bars, count, round->notes[note < notes ? note : notes - 1].bar)->slips;
  }
  for (size_t i = 0; i < round->air_count; ++i) {
    const size_t note = round->air[i].note_index;
    if (round->air[i].audible && note < notes) {
      ++entry_of(bars, count, round->notes[note].bar)->air_heard;
    }
  }
  return bars;
}
