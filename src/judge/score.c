// SPDX-License-Identifier: GPL-3.0-or-later

#include "score.h"

#include "tuning.h"

#include <math.h>

double
sr_score_step(const SrPhrase* const phrase)
{
  const size_t notes = sr_phrase_note_count(phrase);
  const double pulse = sr_fraction_value(sr_phrase_bar(phrase, 0)->pulse);
  double best = INFINITY;
  for (size_t i = 0; i < notes; ++i) {
    const double length = sr_fraction_value(sr_phrase_note(phrase, i)->length);
    // Only a shorter length can win, so most are not counted
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

size_t
sr_round_beginning(const SrRound* const round)
{
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    if (slip->kind == SR_SLIP_LEFT_OUT && slip->left_out == slip->note_index) {
      return slip->note_index;
    }
  }
  return 0;
}

double
sr_round_steadiness(const SrRound* const round)
{
  double first_s = (double)NAN;
  double last_s = (double)NAN;
  double onsets = 0.0;
  for (size_t i = 0; i < round->note_count; ++i) {
    if (isfinite(round->notes[i].offset_ms)) {
      first_s = onsets > 0.0 ? first_s : round->notes[i].onset_s;
      last_s = round->notes[i].onset_s;
      onsets += 1.0;
    }
  }
  const SrPulse* const pulse = &round->pulse;
  if (!isfinite(pulse->change_percent) || !isfinite(pulse->spread_ms) || !(last_s > first_s)) {
    return 1.0;
  }
  // Slopes at the two ends of a parabola fitted to n points, h apart, with deviation s, differ by
  // chance with a deviation of 2 sqrt(180) s / (n^1.5 h)
  const double step_ms = 1e3 * (last_s - first_s) / (onsets - 1.0);
  const double chance = 100.0 * 2.0 * sqrt(180.0) * pulse->spread_ms / (pow(onsets, 1.5) * step_ms);
  const double noticeable = fmax(NOTICEABLE_CHANGE, 2.0 * chance);
  const double over =
      (pulse->change_percent - noticeable) / (OTHER_TEMPO - fmin(noticeable, 0.5 * OTHER_TEMPO));
  return 1.0 - fmin(1.0, fmax(0.0, over));
}

/// The share of a round's score that remains after its breaks.
static double
unbroken(const SrRound* const round)
{
  double left = 1.0;
  for (size_t i = 0; i < round->slip_count; ++i) {
    const SrSlip* const slip = &round->slips[i];
    const bool off = slip->kind == SR_SLIP_HESITATION || slip->kind == SR_SLIP_HURRIED;
    const double pulses = off ? fabs(slip->wait_s) * round->pulse.played_bpm / 60.0 : 1.0;
    if (slip->kind == SR_SLIP_OTHER_TEMPO) {
      const double lost = fabs(slip->wait_s) * round->pulse.played_bpm / 60.0;
      left *= isfinite(lost) ? pow(1.0 - BREAK_COST, lost) : 1.0;
    } else if (off || slip->kind == SR_SLIP_RESTART) {
      left *= 1.0 - BREAK_COST * (isfinite(pulses) ? fmin(1.0, pulses) : 1.0);
    }
  }
  return left;
}

static double
score_evenness(const SrTake* const take, const SrRound* const round)
{
  size_t onsets = 0;
  double squares = 0.0;
  for (size_t i = 0; i < round->note_count; ++i) {
    const double offset_ms = round->notes[i].offset_ms;
    if (isfinite(offset_ms)) {
      ++onsets;
      squares += offset_ms * offset_ms;
    }
  }
  const SrPulse* const pulse = &round->pulse;
  if (onsets < LEAST_ONSETS || !isfinite(pulse->spread_ms) || !isfinite(pulse->played_bpm)) {
    return (double)NAN;
  }
  const double step_ms = sr_score_step(take->phrase) * 60e3 / pulse->played_bpm;
  const double noticeable = sr_judge_just_noticeable_ms(step_ms);
  const double quarter = fmax(0.25 * step_ms, noticeable + 1.0);
  // A single far-off note is left out of the fit, but it was audible
  const double all_ms = fmax(pulse->spread_ms, sqrt(squares / (double)onsets));
  const double over = (all_ms - noticeable) / (quarter - noticeable);
  const double even = fmin(1.0, fmax(0.0, 1.0 - over));
  return 100.0 * even * sr_round_steadiness(round) * unbroken(round);
}

void
sr_score_round(const SrTake* const take, SrRound* const round)
{
  size_t clean = 0;
  round->asked = (SrAmounts){0};
  round->judged = (SrAmounts){0};
  for (size_t i = sr_round_beginning(round); i < round->note_count; ++i) {
    const SrNoteVerdict* const note = &round->notes[i];
    if (note->status == SR_NOTE_UNHEARD) {
      continue;
    }
    const bool came = note->status != SR_NOTE_MISSED;
    const bool cut = note->has_cut && note->cut.verdict != SR_CUT_STRAY;
    ++round->asked.notes;
    round->judged.notes += came;
    round->asked.cuts += sr_phrase_note(take->phrase, i)->cut_midi >= 0;
    round->judged.cuts += cut;
    round->asked.air += note->air_asked;
    round->judged.air += note->air_asked && came;
    clean += cut && note->cut.verdict == SR_CUT_CLEAN;
  }
  round->scores.cuts =
      round->asked.cuts ? 100.0 * (double)clean / (double)round->asked.cuts : (double)NAN;
  round->scores.evenness = score_evenness(take, round);
  round->scores.air = score_air(round);
}
