// SPDX-License-Identifier: GPL-3.0-or-later

#include "score.h"

#include <math.h>

/// Onsets from which on evenness is scored.
#define LEAST_ONSETS 4u
/// What an audible release costs that is just over what the note hides, and what is far over, dB.
#define JUST_OVER_COST (1.0 / 3.0)
#define FAR_OVER_DB 12.0

double
sr_score_step(const SrPhrase* const phrase)
{
  const size_t notes = sr_phrase_note_count(phrase);
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  double best = INFINITY;
  for (size_t i = 0; i < notes; ++i) {
    const double length = sr_fraction_value(sr_phrase_note(phrase, i)->length);
    // Only a shorter one can be it, so that most are not counted
    size_t alike = 0;
    for (size_t j = 0; length < best && j < notes; ++j) {
      alike += fabs(sr_fraction_value(sr_phrase_note(phrase, j)->length) - length) < 1e-9;
    }
    if (10 * alike >= notes && length < best) {
      best = length;
    }
  }
  return best / pulse;
}

static double
score_air(const SrRound* const round)
{
  size_t places = round->air_count;
  double cost = 0.0;
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    bool found = false;
    for (size_t a = 0; a < round->air_count; ++a) {
      found = found || round->air[a].note_index == i;
    }
    const bool there = note->status == SR_NOTE_PLAYED || note->status == SR_NOTE_WRONG;
    places += note->air_asked && there && !found;
  }
  for (size_t a = 0; a < round->air_count; ++a) {
    const double over_db = round->air[a].over_mask_db;
    cost += round->air[a].audible
                ? fmin(1.0, JUST_OVER_COST + (1.0 - JUST_OVER_COST) * over_db / FAR_OVER_DB)
                : 0.0;
  }
  return places ? 100.0 * (1.0 - cost / (double)places) : (double)NAN;
}

void
sr_score_round(const SrTake* const take, SrRound* const round)
{
  size_t asked = 0;
  size_t clean = 0;
  size_t onsets = 0;
  double squares = 0.0;
  for (size_t i = 0; i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    if (isfinite(note->offset_ms)) {
      ++onsets;
      squares += note->offset_ms * note->offset_ms;
    }
    if (note->has_cut && note->cut.verdict != SR_CUT_STRAY) {
      ++asked;
      clean += note->cut.verdict == SR_CUT_CLEAN;
    }
  }
  round->scores.cuts = asked ? 100.0 * (double)clean / (double)asked : (double)NAN;
  round->scores.evenness = (double)NAN;
  round->scores.air = score_air(round);
  const SrPulse* const pulse = &round->pulse;
  if (onsets >= LEAST_ONSETS && isfinite(pulse->spread_ms) && isfinite(pulse->played_bpm)) {
    const double step_ms = sr_score_step(take->phrase) * 60e3 / pulse->played_bpm;
    const double noticeable = sr_judge_just_noticeable_ms(step_ms);
    const double quarter = fmax(0.25 * step_ms, noticeable + 1.0);
    // A single note far off is left out of the fit, but it was heard all the same
    const double all_ms = fmax(pulse->spread_ms, sqrt(squares / (double)onsets));
    const double over = (all_ms - noticeable) / (quarter - noticeable);
    round->scores.evenness = 100.0 * fmin(1.0, fmax(0.0, 1.0 - over));
  }
}
