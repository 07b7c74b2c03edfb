// SPDX-License-Identifier: GPL-3.0-or-later

// Onset of a reed: its rise is measured again once it is complete.
//
// In its attack a reed is not like its template: the upper harmonics follow the fundamental by 10
// to 30 ms, and it starts flat, often by more than a semitone. Decisions here are weights, since a
// yes or no would flip when the frame grid moves (bent_share(), look_again()).

#include "reeds.h"

void
sr_reed_learn_lag(SrSoundFinder* const f, const size_t p, const double frames, const double weight)
{
  f->lag_count[p] = fmin(MOST_LAGS, f->lag_count[p] + weight);
  f->lag[p] += weight * (frames - f->lag[p]) / f->lag_count[p];
}

/// Usual time from onset to half level, from a reed's own starts or its neighbours'; `else_frames`
/// if nothing is known.
static double
lag_of(const SrSoundFinder* const f, const size_t p, const double else_frames)
{
  double sum = 0.2 * else_frames;
  double weights = 0.2;
  for (size_t q = 0; q < SR_PITCHES; ++q) {
    const double apart = fabs((double)p - (double)q);
    const double weight = f->lag_count[q] * exp2(-2.0 * apart);
    sum += weight * f->lag[q];
    weights += weight;
  }
  return sum / weights;
}

/**
   Share of a neighbour's activation that belongs to a starting reed: its pitch bends as it starts,
   often by more than a semitone. A neighbour that sounded before, or goes on to sound, keeps its
   own.
*/
static float
bent_share(const SrSoundFinder* const f, const size_t p, const size_t q)
{
  const int64_t begin = f->reeds[p].begin;
  const Reed* const beside = &f->reeds[q];
  const bool recent = beside->state != SILENT || begin - beside->last_end <= LOOK_BACK + ATTACK;
  if (q > p && (sr_reed_is_written(f, q) || recent)) {
    return 0.0f; // a cut that is just over
  }
  float before = 0.0f;
  float during = FAINT_BEND * f->reeds[p].hold + 1e-12f;
  for (int64_t i = begin - LOOK_BACK; i <= f->frame; ++i) {
    float* const most = i < begin - WITH_IT ? &before : &during;
    const float amount = sr_reed_at(f, q, i);
    *most = amount > *most ? amount : *most;
  }
  const float other = q < p ? fmaxf(before, sr_reed_at(f, q, f->frame)) : before;
  return fminf(1.0f, fmaxf(0.0f, (BEND_NONE - other / during) / (BEND_NONE - BEND_ALL)));
}

/// Other reeds that sound around a rise.
typedef struct {
  float strength[SR_PITCHES]; ///< Relative to the least that counts; 0 for the rising reed's own
  float amount[SR_PITCHES];
} Others;

static Others
find_others(const SrSoundFinder* const f, const size_t p, const int64_t first, const int64_t last)
{
  Others others = {{0.0f}, {0.0f}};
  uint64_t sounding = 0;
  for (int64_t i = first; i <= last; ++i) {
    sounding |= sr_sound_finder_sounding(f, i);
  }
  for (size_t q = 0; q < SR_PITCHES; ++q) {
    const bool own = q + 2 >= p && q <= p + 2;
    if (own || !(sounding >> q & 1u)) {
      continue;
    }
    const bool shadow = f->expected.any && !sr_reed_is_written(f, q);
    float most = 0.0f;
    for (int64_t i = first; i <= last; ++i) {
      const float amount = sr_reed_at(f, q, i);
      most = amount > most ? amount : most;
    }
    others.amount[q] = most;
    others.strength[q] = most / ((shadow ? UNWRITTEN_OTHER : LEAST_OTHER) * f->follow);
  }
  return others;
}

/// Add those above a strength, the loudest first.
static void
add_others(const Others* const others, const float least, SrRows* const rows)
{
  float amount[SR_PITCHES];
  for (size_t q = 0; q < SR_PITCHES; ++q) {
    amount[q] = others->strength[q] > least ? others->amount[q] : 0.0f;
  }
  while (rows->count < SR_ROWS) {
    size_t best = 0;
    for (size_t q = 1; q < SR_PITCHES; ++q) {
      best = amount[q] > amount[best] ? q : best;
    }
    if (!(amount[best] > 0.0f)) {
      return;
    }
    rows->row[rows->count++] = best;
    amount[best] = 0.0f;
  }
}

Stretch
sr_reed_so_far(const SrSoundFinder* const f, const size_t p)
{
  return (Stretch){f->reeds[p].begin, f->frame, 1.0};
}

/**
   Attack fit of a rise with the reeds that sound around it. A reed barely strong enough would
   change the result abruptly with the frame grid, so the results with and without it are
   interpolated.
*/
static void
look_again(SrSoundFinder* const f, const size_t p, const Stretch* const stretch,
           const SrRows* const own, const int updates, float* const values)
{
  const int64_t first = stretch->sure - LOOK_BACK;
  const size_t back = (size_t)(f->frame - first);
  const size_t count = (size_t)(stretch->last - first + 1);
  const Others others = find_others(f, p, first, stretch->last);
  float weight = 0.0f;
  for (size_t q = 0; q < SR_PITCHES; ++q) {
    if (others.strength[q] < SURE_OTHER) {
      weight = fmaxf(weight, (others.strength[q] - HARDLY_OTHER) / (SURE_OTHER - HARDLY_OTHER));
    }
  }
  SrRows rows = *own;
  add_others(&others, SURE_OTHER, &rows);
  sr_attack_fit_rise(f->attack_fit, p, &rows, back, count, LOOK_BACK, updates, values);
  if (weight > 0.0f) {
    float with[MOST_ATTACK + LOOK_BACK + 2];
    rows = *own;
    add_others(&others, HARDLY_OTHER, &rows);
    sr_attack_fit_rise(f->attack_fit, p, &rows, back, count, LOOK_BACK, updates, with);
    for (size_t i = 0; i < count; ++i) {
      values[i] += weight * (with[i] - values[i]);
    }
  }
}

Start
sr_reed_measure_start(SrSoundFinder* const f, const size_t p, const Stretch* const asked,
                      const int updates)
{
  float values[MOST_ATTACK + LOOK_BACK + 2];
  Stretch stretch = *asked;
  if (stretch.last > stretch.sure + MOST_ATTACK) {
    stretch.last = stretch.sure + MOST_ATTACK;
    stretch.part = 1.0;
  }
  SrRows rows = {.count = 0};
  for (size_t q = p > 2 ? p - 2 : 0; q <= p + 2 && q < SR_PITCHES; ++q) {
    if (q != p) {
      rows.share[rows.count] = bent_share(f, p, q);
      rows.row[rows.count++] = q;
    }
  }
  rows.own = rows.count;
  look_again(f, p, &stretch, &rows, updates, values);
  const int64_t first = stretch.sure - LOOK_BACK;
  const size_t count = (size_t)(stretch.last - first + 1);
  const double frame_ms = 1e3 * sr_reed_frame_time(f, 1.0);
  SrRise rise = sr_onset_measure(values, count, LOOK_BACK, frame_ms);
  if (stretch.part < 1.0 && LOOK_BACK + 2 < count) {
    const SrRise shorter = sr_onset_measure(values, count - 1, LOOK_BACK, frame_ms);
    rise.half += (1.0 - stretch.part) * (shorter.half - rise.half);
    rise.onset += (1.0 - stretch.part) * (shorter.onset - rise.onset);
    rise.base += (1.0 - stretch.part) * (shorter.base - rise.base);
  }
  const double own = rise.half - rise.onset;
  const bool whole = rise.onset > 1.0 && first >= 0;
  const double silent = whole ? fmax(0.0, 1.0 - rise.base / CLEAN_BASE) : 0.0;
  return (Start){(double)first + rise.half, own, rise.base, silent};
}

double
sr_reed_onset_of(const SrSoundFinder* const f, const size_t p, const Start* const start)
{
  // The more earlier sound hides the foot of the rise, the more the reed's usual time counts
  const double trust = fmax(0.0, 1.0 - fmax(0.0, start->base - CLEAN_BASE) / HIDDEN_BASE);
  const double own = start->own_lag;
  const double usual = lag_of(f, p, own);
  const double bounded = fmin(fmax(own, LAG_LEAST * usual), LAG_MOST * usual);
  return start->half - (trust * bounded + (1.0 - trust) * usual);
}

int64_t
sr_reed_certainly(const SrSoundFinder* const f, const size_t p, const double half)
{
  const int64_t noticed = f->reeds[p].begin;
  const int64_t sure = (int64_t)round(half);
  if (sure < noticed - MOST_APART) {
    return noticed - MOST_APART;
  }
  return sure > noticed + MOST_APART ? noticed + MOST_APART : sure;
}

void
sr_reed_settle(SrSoundFinder* const f, const size_t p, const Stretch* const stretch)
{
  Reed* const reed = &f->reeds[p];
  const Start start = sr_reed_measure_start(f, p, stretch, SR_REFINE_UPDATES);
  reed->own_lag = start.own_lag;
  reed->silent = start.silent;
  reed->onset = sr_reed_onset_of(f, p, &start);
  reed->settled = true;
}

void
sr_reed_settle_if_complete(SrSoundFinder* const f, const size_t p)
{
  Reed* const reed = &f->reeds[p];
  Stretch stretch = sr_reed_so_far(f, p);
  const double half = sr_reed_measure_start(f, p, &stretch, ROUGH_UPDATES).half;
  const int64_t complete = (int64_t)ceil(half) + AFTER_HALF;
  if (f->frame < complete && f->frame < reed->begin + MOST_ATTACK) {
    reed->complete = complete;
    return;
  }
  if (complete <= f->frame && complete > reed->begin + 2) {
    stretch.last = complete;
    stretch.part = 1.0 - (ceil(half) - half);
    stretch.sure = sr_reed_certainly(f, p, half);
  }
  sr_reed_settle(f, p, &stretch);
}
