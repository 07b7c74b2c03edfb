// SPDX-License-Identifier: GPL-3.0-or-later

#include "heard_pitches.h"

#include "reading_evidence.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>

/// Windows in a step, and their mean position.
typedef struct {
  double weight;
  double cents; ///< As in SrPitchStep
} Place;

double
sr_cents_between(const double a, const double b)
{
  return 1200.0 * log2(a / b);
}

bool
sr_pitch_is_expected(const SrExpected* const expected, const int midi)
{
  return midi >= 0 && midi < 128 && expected->expected[midi];
}

void
sr_heard_pitches_add(SrHeardPitches* const h, const SrForm form, const double frequency,
                     const float* const amplitude, const bool new_note)
{
  const double midi = 69.0 + sr_cents_between(frequency, 440.0) / 100.0;
  const double place = (midi - FIRST_MIDI) * 100.0 / STEP_CENTS;
  if (place < 0.0 || place >= (double)SR_PITCH_STEPS - 1.0) {
    return;
  }
  SrPitchStep* const step = &h->steps[form][(size_t)place];
  double sum = 0.0;
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    sum += (double)amplitude[k];
  }
  if (!(sum > 0.0)) {
    return;
  }
  step->weight += 1.0;
  step->notes += new_note;
  step->cents += (place - floor(place) - 0.5) * STEP_CENTS;
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    step->amplitude[k] += (float)((double)amplitude[k] / sum);
  }
}

/// Sums of a step over all forms.
static Place
place_at(const SrHeardPitches* const h, const size_t i)
{
  Place sum = {0};
  for (SrForm f = SR_FORM_SINGLE; f < SR_FORMS; ++f) {
    sum.weight += h->steps[f][i].weight;
    sum.cents += h->steps[f][i].cents;
  }
  return sum;
}

/// How well the pitches heard fit the phrase if the reference is `shift` cents from 440 Hz.
static double
fit_shift(const SrHeardPitches* const h, const SrExpected* const expected, const SrReading reading,
          const int shift)
{
  const bool doubled = reading == SR_READ_DOUBLED;
  double score = 0.0;
  for (size_t i = 0; i < SR_PITCH_STEPS; ++i) {
    const Place step = place_at(h, i);
    if (!(step.weight > 0.0)) {
      continue;
    }
    const double cents = ((double)i + 0.5) * STEP_CENTS + step.cents / step.weight - shift;
    const double midi = FIRST_MIDI + cents / 100.0;
    const int nearest = (int)lround(midi);
    const double off = (midi - nearest) * 100.0 / 18.0;
    const bool written = !expected->any || sr_pitch_is_expected(expected, nearest) ||
                         (doubled && sr_pitch_is_expected(expected, nearest + 12));
    score += fmin(step.weight, 40.0) * exp(-0.5 * off * off) * (written ? 1.0 : 0.25);
  }
  return score * (1.0 - 0.0015 * abs(shift));
}

int
sr_heard_pitches_shift(const SrHeardPitches* const h, const SrExpected* const expected,
                       const SrReading reading)
{
  int best = 0;
  double most = fit_shift(h, expected, reading, 0);
  for (int shift = -MOST_SHIFT; shift <= MOST_SHIFT; ++shift) {
    const double score = fit_shift(h, expected, reading, shift);
    if (score > most) {
      most = score;
      best = shift;
    }
  }
  return best;
}

double
sr_heard_pitches_nats(const SrHeardPitches* const h, const SrExpected* const expected,
                      const SrReading reading)
{
  const int shift = sr_heard_pitches_shift(h, expected, reading);
  double sum = 0.0;
  for (size_t i = 0; i < SR_PITCH_STEPS; ++i) {
    const Place step = place_at(h, i);
    double notes = 0.0;
    for (SrForm f = SR_FORM_SINGLE; f < SR_FORMS; ++f) {
      notes += h->steps[f][i].notes;
    }
    if (notes > 0.0) {
      const double cents = ((double)i + 0.5) * STEP_CENTS + step.cents / step.weight - shift;
      const double density = sr_reading_density(expected, reading, FIRST_MIDI + cents / 100.0);
      const double singles = reading == SR_READ_DOUBLED ? h->steps[SR_FORM_SINGLE][i].notes : 0.0;
      sum += notes * log(density) - SINGLE_NATS * singles;
    }
  }
  return sum;
}
