// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file beat_model.c
   A least squares model of a round's onsets: start, pulse, bend, lilt, waits and turns.
*/

#include "beat.h"
#include "median.h"
#include "rhythm.h"
#include "score.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

double
sr_beat_place(const SrBeatFit* const f, const SrPhraseNote* const note)
{
  const double pulses = sr_fraction_value(note->in_bar) / f->pulse;
  return pulses - floor(pulses + 1e-9);
}

size_t
sr_beat_find_places(const SrBeatFit* const f)
{
  const size_t notes = sr_phrase_note_count(f->take->phrase);
  for (size_t places = 1; places <= SR_LILT_SIZE; ++places) {
    bool all = true;
    for (size_t i = 0; all && i < notes; ++i) {
      const double at = sr_beat_place(f, sr_phrase_note(f->take->phrase, i)) * (double)places;
      all = fabs(at - round(at)) < 1e-6;
    }
    if (all) {
      return places;
    }
  }
  return 0;
}

static void
fill_row(const SrBeatFit* const f, const SrBeatOnset* const onset, double* const row)
{
  memset(row, 0, SR_BEAT_COLUMNS * sizeof(double));
  row[0] = 1.0;
  row[1] = onset->pulses;
  row[2] = f->bends ? onset->pulses * onset->pulses : 0.0;
  if (onset->place > 0 && f->place_count[onset->place] >= 2) {
    row[SR_BEAT_FIXED + onset->place] = 1.0;
  }
  for (size_t w = 0; w < onset->waits && w < MOST_WAITS; ++w) {
    row[SR_BEAT_FIXED + SR_LILT_SIZE + w] = 1.0;
  }
  for (size_t t = 0; t < f->turn_count; ++t) {
    row[SR_BEAT_FIRST_TURN + t] = sr_turn_column(&f->turns[t], onset->pulses);
  }
}

double
sr_beat_predicted(const SrBeatFit* const f, const SrBeatOnset* const onset)
{
  double row[SR_BEAT_COLUMNS];
  fill_row(f, onset, row);
  double sum = 0.0;
  for (size_t i = 0; i < SR_BEAT_COLUMNS; ++i) {
    sum += row[i] * f->solution[i];
  }
  return sum + onset->moved_s;
}

size_t
sr_beat_matrix(const SrBeatFit* const f, double* const matrix, double* const values,
               double* const pulses)
{
  size_t rows = 0;
  for (size_t i = 0; i < f->count; ++i) {
    if (!f->onsets[i].out) {
      fill_row(f, &f->onsets[i], matrix + rows * SR_BEAT_COLUMNS);
      pulses[rows] = f->onsets[i].pulses;
      values[rows++] = f->onsets[i].onset_s - f->onsets[i].moved_s;
    }
  }
  return rows;
}

bool
sr_beat_solve(SrBeatFit* const f)
{
  assert(f->count > 0);
  double* const matrix = (double*)malloc(f->count * (SR_BEAT_COLUMNS + 2) * sizeof(double));
  if (!matrix) {
    return false;
  }
  double* const values = matrix + f->count * SR_BEAT_COLUMNS;
  const size_t rows = sr_beat_matrix(f, matrix, values, values + f->count);
  f->determined = sr_least_squares(rows, SR_BEAT_COLUMNS, matrix, values, f->solution);
  free(matrix);
  return true;
}

bool
sr_beat_place_graces(const SrBeatFit* const f)
{
  bool any = false;
  for (size_t i = 0; i < f->count; ++i) {
    SrBeatOnset* const onset = &f->onsets[i];
    if (onset->last_s > onset->first_s) {
      const double was_s = onset->onset_s;
      onset->onset_s = fmin(fmax(sr_beat_predicted(f, onset), onset->first_s), onset->last_s);
      any = any || fabs(onset->onset_s - was_s) > PLACED_S;
    }
  }
  return any;
}

size_t
sr_beat_most_out(const SrBeatFit* const f)
{
  return (size_t)(MOST_LEFT_OUT * (double)f->count);
}

bool
sr_beat_leave_out(SrBeatFit* const f, double* const scratch)
{
  for (size_t i = 0; i < f->count; ++i) {
    scratch[i] = fabs(f->onsets[i].onset_s - sr_beat_predicted(f, &f->onsets[i]));
  }
  double* const sorted = scratch + f->count;
  memcpy(sorted, scratch, f->count * sizeof(double));
  // 1.4826 scales the median deviation to the standard deviation of a normal distribution
  const double limit = fmax(FAR_OUT * 1.4826 * sr_median(sorted, f->count), 0.02);
  size_t left = 0;
  const size_t most = sr_beat_most_out(f);
  bool any = false;
  while (left < most) {
    size_t worst = f->count;
    for (size_t i = 0; i < f->count; ++i) {
      if (!f->onsets[i].out && scratch[i] > limit &&
          (worst == f->count || scratch[i] > scratch[worst])) {
        worst = i;
      }
    }
    if (worst == f->count) {
      break;
    }
    f->onsets[worst].out = true;
    any = true;
    ++left;
  }
  return any;
}

double
sr_beat_slope(const SrBeatFit* const f, const double pulses)
{
  double slope = f->solution[1] + 2.0 * f->solution[2] * pulses;
  for (size_t t = 0; t < f->turn_count; ++t) {
    const SrTurn* const turn = &f->turns[t];
    const double size = f->solution[SR_BEAT_FIRST_TURN + t];
    if (sr_turn_is_of_tempo(turn) && pulses >= turn->from && pulses < turn->to) {
      slope += turn->kind == SR_TURN_BEND ? 2.0 * size * (pulses - turn->from) : size;
    }
  }
  return slope;
}

double
sr_beat_noticeable_s(const SrBeatFit* const f)
{
  const double pulse_s = fmax(0.0, f->onsets[f->count / 2].usual_s);
  return 1e-3 * sr_judge_just_noticeable_ms(1e3 * sr_score_step(f->take->phrase) * pulse_s);
}

size_t
sr_beat_onset_near(const SrBeatFit* const f, const double pulses)
{
  size_t nearest = 0;
  for (size_t i = 1; i < f->count; ++i) {
    const double apart = fabs(f->onsets[i].pulses - pulses);
    nearest = apart < fabs(f->onsets[nearest].pulses - pulses) ? i : nearest;
  }
  return nearest;
}
