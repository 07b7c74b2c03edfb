// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file key_guess.c
   The signature leaves the least playing time outside of it. Which of its notes is the first is
   told by how well the time on each note fits the profile of a key (Krumhansl and Kessler 1982, the
   figures from memory), with a share for the last note of all, on which tunes mostly come to rest
   (common practice, no source).
*/

#include "key_guess.h"

#include "tuning.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/// Fifths from C in steps of a semitone up.
#define IN_FIFTHS(pitch_class) ((7 * (pitch_class)) % 12)

/// The modes that dance tunes have, each by how many fifths its first note lies above that of the
/// major key with the same signature.
static const struct {
  const char* suffix;
  int fifths;
  bool minor;
  double fit; ///< How much less usual it is, as a correlation
} modes[] = {
    {"", 0, false, 0.0}, {"mix", 1, false, 0.1}, {"dor", 2, true, 0.1}, {"m", 3, true, 0.05}};
#define MODE_COUNT (sizeof(modes) / sizeof(modes[0]))

static const double profiles[2][12] = {
    {6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88},
    {6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17},
};

/// Names of notes by fifths above F flat.
static const char* const names[] = {"Fb", "Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F",  "C",  "G", "D",
                                    "A",  "E",  "B",  "F#", "C#", "G#", "D#", "A#", "E#", "B#"};
#define NAME_COUNT ((int)(sizeof(names) / sizeof(names[0])))
#define NAME_OF_C 8

void
sr_key_weights(const SrPlayedNotes* const played, double* const weights)
{
  memset(weights, 0, 12 * sizeof(double));
  for (size_t i = 0; i < played->count; ++i) {
    const SrPlayedNote* const note = &played->notes[i];
    weights[note->midi % 12] += fmin(MOST_KEY_NOTE_S, note->end_s - note->onset_s);
  }
}

/// Whether a pitch class is in a signature.
static bool
is_within(const int fifths, const int pitch_class)
{
  // Seven notes in a row of fifths, the first a fifth below the major key's own
  return (IN_FIFTHS(pitch_class) - fifths + 1 + 24) % 12 < 7;
}

/// Share of the time outside of a signature.
static double
share_outside(const double* const weights, const int fifths)
{
  double all = 1e-9;
  double out = 0.0;
  for (int c = 0; c < 12; ++c) {
    all += weights[c];
    out += is_within(fifths, c) ? 0.0 : weights[c];
  }
  return out / all;
}

int
sr_key_signature(const double* const weights, double* const outside)
{
  int best = 0;
  double best_cost = (double)INFINITY;
  for (int fifths = -6; fifths <= 6; ++fifths) {
    const double out = share_outside(weights, fifths);
    const double cost = out + PER_SIGN * fabs((double)fifths - USUAL_SIGNS);
    if (cost < best_cost) {
      best_cost = cost;
      best = fifths;
      *outside = out;
    }
  }
  return best;
}

/// How well the time on each note fits a key.
static double
fit_profile(const double* const weights, const int tonic, const bool minor)
{
  double sum_w = 0.0;
  double sum_p = 0.0;
  for (int c = 0; c < 12; ++c) {
    sum_w += weights[c] / 12.0;
    sum_p += profiles[minor][c] / 12.0;
  }
  double both = 0.0;
  double ww = 1e-9;
  double pp = 0.0;
  for (int c = 0; c < 12; ++c) {
    const double w = weights[(tonic + c) % 12] - sum_w;
    const double p = profiles[minor][c] - sum_p;
    both += w * p;
    ww += w * w;
    pp += p * p;
  }
  return both / sqrt(ww * pp);
}

/// Name a key by the fifths of its first note above C.
static void
name_key(SrKeyGuess* const key, const int fifths, const char* const suffix)
{
  const int index = NAME_OF_C + fifths;
  snprintf(key->name, sizeof(key->name), "%s%s",
           names[index < 0             ? 0
                 : index >= NAME_COUNT ? NAME_COUNT - 1
                                       : index],
           suffix);
}

SrKeyGuess
sr_key_guess(const SrPlayedNotes* const played)
{
  SrKeyGuess key = {0, 0, "C", 0.0, 0.0};
  double weights[12];
  sr_key_weights(played, weights);
  const int last = played->count ? played->notes[played->count - 1].midi % 12 : 0;
  double best = (double)-INFINITY;
  for (int signs = -6; signs <= 6; ++signs) {
    for (size_t m = 0; m < MODE_COUNT; ++m) {
      const int fifths = signs + modes[m].fifths;
      const int tonic = (7 * (fifths + 24)) % 12;
      const double outside = share_outside(weights, signs);
      const double fit = fit_profile(weights, tonic, modes[m].minor) - modes[m].fit +
                         (last == tonic ? LAST_IS_TONIC : 0.0) - OUTSIDE_FIT * outside -
                         SIGN_FIT * fabs((double)signs - USUAL_SIGNS);
      if (fit > best) {
        best = fit;
        key.fifths = signs;
        key.tonic = tonic;
        key.outside = outside;
        name_key(&key, fifths, modes[m].suffix);
      }
    }
  }
  // The neighbours differ by one note; what is played on that one tells them apart
  const double less = share_outside(weights, key.fifths - 1);
  const double more = share_outside(weights, key.fifths + 1);
  key.sure = fmax(0.0, fmin(1.0, 0.5 + (fmin(less, more) - key.outside) / SURE_SHARE));
  return key;
}
