// SPDX-License-Identifier: GPL-3.0-or-later

#include "naming.h"

#include "key_guess.h"
#include "tuning.h"

#include <math.h>
#include <string.h>

/// How unlikely it is that what was played is a number of semitones higher than it was named.
static double
cost_of(const double* const weights, const double cents, const int shift)
{
  double shifted[12];
  for (int c = 0; c < 12; ++c) {
    shifted[(c + shift + 12) % 12] = weights[c];
  }
  double outside = 0.0;
  const int fifths = sr_key_signature(shifted, &outside);
  const double off = fabs(cents - 100.0 * shift);
  return OUTSIDE_COST * outside + SIGN_COST * fabs((double)fifths - USUAL_SIGNS) +
         off / CENTS_A_COST + (off > MOST_OFF_CENTS ? 1e9 : 0.0);
}

bool
sr_naming_settle(SrPlayedNotes* const played, const double asked_hz)
{
  const double cents = 1200.0 * log2(played->reference_hz / (isnan(asked_hz) ? 440.0 : asked_hz));
  int shift = (int)lround(cents / 100.0);
  if (isnan(asked_hz)) {
    double weights[12];
    sr_key_weights(played, weights);
    double best = (double)INFINITY;
    shift = 0;
    for (int s = -1; s <= 1; ++s) {
      const double cost = cost_of(weights, cents, s);
      if (cost < best) {
        best = cost;
        shift = s;
      }
    }
  }
  played->reference_hz *= exp2(-shift / 12.0);
  for (size_t i = 0; i < played->count; ++i) {
    SrPlayedNote* const note = &played->notes[i];
    note->midi += shift;
    note->grace_pitch += shift;
    for (int k = 0; k < note->grace_count; ++k) {
      note->grace_midi[k] += shift;
    }
  }
  return shift != 0;
}
