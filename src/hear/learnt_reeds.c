// SPDX-License-Identifier: GPL-3.0-or-later

#include "learnt_reeds.h"

#include "tuning.h"

#include <math.h>
#include <string.h>

/// Sum the steps near a pitch, form by form, with cents relative to that pitch.
static void
gather_steps(const SrHeardPitches* const h, const int midi, const double shift,
             SrPitchStep gathered[SR_FORMS])
{
  memset(gathered, 0, SR_FORMS * sizeof(SrPitchStep));
  for (SrForm f = SR_FORM_SINGLE; f < SR_FORMS; ++f) {
    for (size_t i = 0; i < SR_PITCH_STEPS; ++i) {
      const SrPitchStep* const step = &h->steps[f][i];
      const double at = ((double)i + 0.5) * STEP_CENTS - shift;
      const double off =
          at + step->cents / step->weight - (double)(midi - FIRST_MIDI) * 100.0; // NAN without any
      if (fabs(off) < NEAR_CENTS) {
        gathered[f].weight += step->weight;
        gathered[f].cents += step->weight * off;
        for (size_t k = 0; k < SR_HARMONICS; ++k) {
          gathered[f].amplitude[k] += step->amplitude[k];
        }
      }
    }
  }
}

/**
   Learn a reed from the steps near a pitch.

   @param p     The reed.
   @param below Semitones below it at which to look: 12 if it sounds with its octave below, whose
                series then includes both.
   @param form  Form of the series to use; SR_FORMS for any. Ambiguous ones are counted with the
                majority of their pitch.
   @return Whether it was heard long enough.
*/
static bool
learn_reed(const SrHeardPitches* const h, const SrExpected* const expected,
           SrProfile* const profile, const size_t p, const int below, const SrForm form,
           const double shift)
{
  SrReed reed = {0};
  double weight = 0.0;
  double cents = 0.0;
  double amplitude[SR_HARMONICS] = {0};
  SrPitchStep heard[SR_FORMS];
  gather_steps(h, SR_LOWEST_MIDI + (int)p - below, shift, heard);
  const bool singles = heard[SR_FORM_SINGLE].weight >= ALONE_WEIGHT;
  const bool pairs = heard[SR_FORM_PAIR].weight >= LEAST_WEIGHT;
  const SrForm either = singles && pairs ? SR_FORM_EITHER : pairs ? SR_FORM_SINGLE : SR_FORM_PAIR;
  for (SrForm f = SR_FORM_SINGLE; f < SR_FORMS; ++f) {
    if (form == SR_FORMS || form == (f == SR_FORM_EITHER ? either : f)) {
      weight += heard[f].weight;
      cents += heard[f].cents;
      for (size_t k = 0; k < SR_HARMONICS; ++k) {
        amplitude[k] += (double)heard[f].amplitude[k];
      }
    }
  }
  const bool written = !expected->any || expected->expected[p + SR_LOWEST_MIDI];
  const double least = form == SR_FORM_SINGLE ? ALONE_WEIGHT : LEAST_WEIGHT;
  if (weight < (written ? least : UNWRITTEN_WEIGHT)) {
    return false;
  }
  reed.learnt = true;
  reed.doubled = below == 12;
  reed.cents = (float)(cents / weight);
  reed.weight = (float)(weight * HOP_S);
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    reed.amplitude[k] = (float)(amplitude[k] / weight);
  }
  profile->reeds[p] = reed;
  return true;
}

void
sr_learn_reeds(const SrHeardPitches* const h, const SrExpected* const expected,
               SrProfile* const profile, const double shift)
{
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if (!profile->doubled) {
      learn_reed(h, expected, profile, p, 0, SR_FORMS, shift);
      continue;
    }
    const int midi = SR_LOWEST_MIDI + (int)p;
    const bool written = sr_pitch_is_expected(expected, midi);
    const bool is_lower = p + 12 < SR_PITCHES && sr_pitch_is_expected(expected, midi + 12);
    // If the lower note is written too, what sounds there may be either
    const SrForm pairs = sr_pitch_is_expected(expected, midi - 12) ? SR_FORM_PAIR : SR_FORMS;
    if (written && p >= 12 && learn_reed(h, expected, profile, p, 12, pairs, shift)) {
      continue;
    }
    if (!is_lower) {
      learn_reed(h, expected, profile, p, 0, SR_FORMS, shift);
    } else if (written) {
      learn_reed(h, expected, profile, p, 0, SR_FORM_SINGLE, shift);
    }
  }
}
