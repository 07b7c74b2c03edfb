// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file heard_pitches.h
   The pitches heard in a take, counted in steps of ten cents: which reference and which reading of
   the phrase they fit.
*/

#ifndef SR_HEAR_HEARD_PITCHES_H
#define SR_HEAR_HEARD_PITCHES_H

#include "profile.h"

#include <stdbool.h>
#include <stddef.h>

/// Number of steps.
#define SR_PITCH_STEPS ((SR_PITCHES + 4u) * 10u) // ten in a semitone

/// What a series may be by its harmonics: one reed, two an octave apart, or either.
typedef enum { SR_FORM_SINGLE, SR_FORM_EITHER, SR_FORM_PAIR, SR_FORMS } SrForm;

/// The windows counted at one step of pitch.
typedef struct {
  double weight;
  double notes; ///< Runs of windows in which YIN finds its period too
  double cents; ///< Sum over windows of the distance from the step's middle
  float amplitude[SR_HARMONICS];
} SrPitchStep;

/// All of them; zero-initialised, none was counted.
typedef struct {
  SrPitchStep steps[SR_FORMS][SR_PITCH_STEPS];
} SrHeardPitches;

/// From one frequency to another, cents.
double sr_cents_between(double a, double b);
/// Whether a pitch is in the phrase.
bool sr_pitch_is_expected(const SrExpected* expected, int midi);
/// Add a series to the step of its pitch.
void sr_heard_pitches_add(SrHeardPitches* heard, SrForm form, double frequency,
                          const float* amplitude, bool new_note);
/// The shift at which the pitches heard fit the phrase best, cents.
int sr_heard_pitches_shift(const SrHeardPitches* heard, const SrExpected* expected,
                           SrReading reading);
/// Log-likelihood of the pitches heard in a reading, nats.
double sr_heard_pitches_nats(const SrHeardPitches* heard, const SrExpected* expected,
                             SrReading reading);

#endif // SR_HEAR_HEARD_PITCHES_H
