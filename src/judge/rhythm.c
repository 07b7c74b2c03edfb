// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file rhythm.c
   Notes that are not there and whose time is missing too were left out, a longer step is a
   hesitation, and one too short with nothing missing was hurried. Each shifts all that follows, so
   that nothing after it counts as late or early for it.

   A tempo that changes is no other tune. When a round is over, turns of the beat are added one by
   one, each the one that makes the Bayesian information criterion least; after each, those before
   are searched again (look_again()). The fits with and without the waits that single steps showed,
   and with and without a drift, are compared in the same way. Where the jumps cut the round into
   pieces, the tempo of three fifths of it is its own (main_tempo.h).
*/

#include "rhythm.h"

#include "beat.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

void
sr_beat_add_slip(SrBeatFit* const f, const SrSlip slip)
{
  assert(f->slip_count < SR_BEAT_MOST_SLIPS(f->round->note_count));
  f->slips[f->slip_count++] = slip;
}

/// Begin with the onsets of a round. False if out of memory.
static bool
begin(SrBeatFit* const f)
{
  const SrRound* const round = f->round;
  f->onsets = (SrBeatOnset*)calloc(round->note_count, sizeof(SrBeatOnset));
  f->slips = (SrSlip*)calloc(SR_BEAT_MOST_SLIPS(round->note_count), sizeof(SrSlip));
  if (!f->onsets || !f->slips) {
    return false;
  }
  f->places = sr_beat_find_places(f);
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrPhraseNote* const written = sr_phrase_note(f->take->phrase, i);
    if (isfinite(round->notes[i].onset_s)) {
      SrBeatOnset* const onset = &f->onsets[f->count++];
      onset->note = i;
      onset->pulses = sr_fraction_value(written->start) / f->pulse;
      onset->onset_s = round->notes[i].onset_s;
      onset->first_s = onset->onset_s;
      onset->last_s = round->notes[i].graces > 0 ? round->notes[i].speaks_s : onset->onset_s;
      onset->place =
          f->places ? (size_t)lround(sr_beat_place(f, written) * (double)f->places) % f->places : 0;
      ++f->place_count[onset->place];
    }
  }
  f->drift = f->count >= DRIFT_ONSETS;
  f->bends = f->drift;
  return true;
}

/// Fit the model and report what it shows. False if out of memory.
static bool
fit(SrBeatFit* const f, const bool over, double* const scratch)
{
  sr_beat_find_pulses(f, scratch);
  sr_beat_find_beginning(f);
  const size_t slips = f->slip_count;
  sr_beat_find_waits(f, scratch);
  bool enough = sr_beat_solve(f);
  for (int i = 0; enough && i < MOST_PLACINGS && sr_beat_place_graces(f); ++i) {
    enough = sr_beat_solve(f);
  }
  enough = enough && sr_beat_fit(f, false, scratch);
  if (enough && over && f->drift) {
    enough = sr_beat_try_turns(f, slips, scratch);
  }
  if (enough) {
    sr_beat_report(f, scratch);
    sr_beat_report_turns(f);
  }
  return enough;
}

/// Notes left out were not joined to anything.
static void
leave_out_notes(const SrTake* const take, const SrSlip* const slip, SrRound* const round)
{
  for (size_t i = slip->note_index - slip->left_out; i < slip->note_index; ++i) {
    round->notes[i] = sr_note_missed(take->phrase, i);
    round->notes[i].left_out = true;
  }
}

/// Write what was found into the round. False if out of memory.
static bool
apply(const SrBeatFit* const f, SrRound* const round)
{
  round->pulse = f->pulse_found;
  if (f->count < LEAST_FITTED) {
    return true;
  }
  bool enough = true;
  for (size_t i = 0; enough && i < f->slip_count; ++i) {
    if (f->slips[i].kind == SR_SLIP_LEFT_OUT) {
      leave_out_notes(f->take, &f->slips[i], round);
    }
    enough = sr_round_add_slip(round, f->slips[i]);
  }
  for (size_t i = 0; i < f->count; ++i) {
    SrNoteVerdict* const note = &round->notes[f->onsets[i].note];
    note->due_s = f->onsets[i].due_s;
    note->offset_ms = 1e3 * (f->onsets[i].onset_s - f->onsets[i].due_s);
  }
  for (size_t i = 0; i < round->note_count; ++i) {
    SrNoteVerdict* const note = &round->notes[i];
    if (!isfinite(note->due_s) && !note->left_out) {
      note->due_s = sr_beat_due_s(f, i);
    }
  }
  return enough;
}

SrStatus
sr_rhythm_fit(const SrTake* const take, const bool over, SrRound* const round)
{
  const SrFraction unit = sr_phrase_bar(take->phrase, 0)->pulse;
  SrBeatFit f = {.take = take,
                 .round = round,
                 .pulse = sr_fraction_value(unit),
                 .pulse_found = {.unit = unit,
                                 .target_bpm = take->settings->target_bpm,
                                 .played_bpm = (double)NAN,
                                 .drift_percent = (double)NAN,
                                 .first_bpm = (double)NAN,
                                 .last_bpm = (double)NAN,
                                 .change_percent = (double)NAN,
                                 .jump_note = round->note_count,
                                 .mean_offset_ms = (double)NAN,
                                 .left_pulses = (double)NAN,
                                 .left_percent = (double)NAN,
                                 .spread_ms = (double)NAN,
                                 .npvi = (double)NAN}};
  double* const scratch = (double*)malloc((2 * round->note_count + 2) * sizeof(double));
  bool enough = scratch && begin(&f);
  enough = enough && (f.count < LEAST_FITTED || fit(&f, over, scratch)) && apply(&f, round);
  free(f.slips);
  free(f.onsets);
  free(scratch);
  return enough ? SR_OK : SR_NO_MEMORY;
}
