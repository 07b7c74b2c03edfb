// SPDX-License-Identifier: GPL-3.0-or-later

#include "steady_pitches.h"

#include "tuning.h"

#include <math.h>

/// Semitones.
#define OCTAVE 12u

/// Activation of a pitch in a frame.
static float
amount_of(const SrSoundFinder* const sounds, const size_t p, const int64_t frame)
{
  return sr_sound_finder_amounts(sounds, p)[(uint64_t)frame % SR_SOUND_MEMORY];
}

/// Where notes are doubled, octaves share most harmonics, so their separate activations
/// fluctuate from frame to frame: they are summed.
static float
amount_at(const SrSoundFinder* const sounds, const bool doubled, const size_t p,
          const int64_t frame)
{
  if (!doubled) {
    return amount_of(sounds, p, frame);
  }
  float sum = 0.0f;
  for (size_t q = p % OCTAVE; q < SR_PITCHES; q += OCTAVE) {
    sum += amount_of(sounds, q, frame);
  }
  return sum;
}

/// Of pitches in octave relation keep only the lowest with a substantial share, one bit each: its
/// harmonics include those of the others.
static uint64_t
leave_lowest(const SrSoundFinder* const sounds, const uint64_t sounding, const int64_t first,
             const int64_t last)
{
  uint64_t left = 0;
  for (size_t c = 0; c < OCTAVE; ++c) {
    float sums[SR_PITCHES / OCTAVE + 1] = {0};
    float all = 0.0f;
    for (size_t p = c; p < SR_PITCHES; p += OCTAVE) {
      for (int64_t i = first; i <= last && sounding >> p & 1u; i += STEP) {
        sums[p / OCTAVE] += amount_of(sounds, p, i);
      }
      all += sums[p / OCTAVE];
    }
    size_t p = c;
    while (p < SR_PITCHES && !(sums[p / OCTAVE] > LOWEST_SHARE * all)) {
      p += OCTAVE;
    }
    left |= p < SR_PITCHES ? UINT64_C(1) << p : 0;
  }
  return left;
}

/// Add a pitch whose harmonics are in the window, and its octave below where it is doubled.
static void
add_pitch(SrInterHarmonicPitches* const pitches, const SrSoundFinder* const sounds, const size_t p,
          const int64_t frame)
{
  if (pitches->count < SR_INTER_HARMONIC_PITCHES) {
    pitches->pitch[pitches->count++] = p;
  }
  if (p >= OCTAVE && sr_sound_finder_octave_below(sounds, p, frame) &&
      pitches->count < SR_INTER_HARMONIC_PITCHES) {
    pitches->pitch[pitches->count++] = p - OCTAVE;
  }
}

/// The pitches that sound in any sampled frame of a range, one bit each.
static uint64_t
sounding_from(const SrSoundFinder* const sounds, const int64_t first, const int64_t last,
              const int64_t step)
{
  uint64_t sounding = 0;
  for (int64_t i = first; i <= last; i += step) {
    sounding |= sr_sound_finder_sounding(sounds, i);
  }
  return sounding;
}

/// Add pitches that are dying away, or were a moment ago.
static void
add_tails(SrInterHarmonicPitches* const pitches, const SrSoundFinder* const sounds,
          const int64_t first, const int64_t last, const float loud)
{
  const size_t mains = pitches->count;
  const uint64_t sounding = sounding_from(sounds, first - TAIL_FRAMES, last, 2 * STEP);
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    bool main = !(sounding >> p & 1u);
    for (size_t i = 0; i < mains; ++i) {
      main = main || pitches->pitch[i] == p;
    }
    const float* const amounts = sr_sound_finder_amounts(sounds, p);
    float most = 0.0f;
    for (int64_t i = first - TAIL_FRAMES; i <= last && !main; i += 2 * STEP) {
      const float amount = amounts[(uint64_t)i % SR_SOUND_MEMORY];
      most = amount > most ? amount : most;
    }
    if (most > TAIL_SHARE * loud) {
      add_pitch(pitches, sounds, p, last);
    }
  }
}

/// Whether a pitch that steps is a note, not a product of hiss: near the window it is as strong as
/// one, and it starts or ends in the window.
static bool
comes_or_goes(const SrSoundFinder* const sounds, const bool doubled, const size_t p,
              const int64_t first, const int64_t last, const float top, const float least,
              const float leap)
{
  float most = 0.0f;
  // The take may end there
  const int64_t end_frame = sr_sound_finder_frames(sounds);
  for (int64_t i = first - BEFORE_FRAMES; i <= last + BEHIND_FRAMES && i < end_frame; i += STEP) {
    most = fmaxf(most, amount_at(sounds, doubled, p, i));
  }
  float at_first = 0.0f;
  float at_last = 0.0f;
  for (int64_t i = 0; i < ENDS; ++i) {
    at_first += amount_at(sounds, doubled, p, first + i * STEP) / (float)ENDS;
    at_last += amount_at(sounds, doubled, p, last - i * STEP) / (float)ENDS;
  }
  // Under air a note may seem to sink far, but slowly, and it comes back
  const float end = fminf(at_first, at_last);
  return most > NOTE_LEVEL * top &&
         (end < GONE_SHARE * most || (least < AIR_STEADY_SHARE * most && leap > STEP_SHARE * most));
}

/// Whether a stronger pitch is too near for short windows to separate, above all for low notes:
/// then this one is its shadow.
static bool
is_shadow(const float most[SR_PITCHES], const size_t p)
{
  for (size_t q = p > NEAR ? p - NEAR : 0; q <= p + NEAR && q < SR_PITCHES; ++q) {
    if (q != p && (most[q] > most[p] || (!(most[q] < most[p]) && q < p))) {
      return true;
    }
  }
  return false;
}

SrSteadiness
sr_steady_pitches(const SrSoundFinder* const sounds, const bool doubled, const int64_t first,
                  const int64_t last, SrInterHarmonicPitches* const pitches)
{
  float least[SR_PITCHES];
  float most[SR_PITCHES];
  float leap[SR_PITCHES];
  float top = 0.0f;
  uint64_t sounding = sounding_from(sounds, first, last, STEP);
  if (doubled) {
    sounding = leave_lowest(sounds, sounding, first, last);
  }
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    least[p] = most[p] = leap[p] = 0.0f;
    if (!(sounding >> p & 1u)) {
      continue;
    }
    const float* const amounts = sr_sound_finder_amounts(sounds, p);
    float before = amount_at(sounds, doubled, p, first);
    least[p] = most[p] = before;
    for (int64_t i = first + STEP; i <= last; i += STEP) {
      const float amount =
          doubled ? amount_at(sounds, doubled, p, i) : amounts[(uint64_t)i % SR_SOUND_MEMORY];
      // No fminf() and fmaxf() here: a thousand calls per window are noticeable
      const float step = amount > before ? amount - before : before - amount;
      least[p] = amount < least[p] ? amount : least[p];
      most[p] = amount > most[p] ? amount : most[p];
      leap[p] = step > leap[p] ? step : leap[p];
      before = amount;
    }
    top = most[p] > top ? most[p] : top;
  }
  const float loud = sr_sound_finder_loudness(sounds);
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if (leap[p] > LEAP_SHARE * fmaxf(top, GAP_SHARE * loud) &&
        comes_or_goes(sounds, doubled, p, first, last, fmaxf(top, 0.5f * loud), least[p],
                      leap[p])) {
      return SR_UNSTEADY;
    }
  }
  pitches->count = 0;
  pitches->main_count = 0;
  if (top < GAP_SHARE * loud) {
    add_tails(pitches, sounds, first, last, loud);
    return SR_STEADY_GAP;
  }
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if (most[p] > NOTE_SHARE * top && least[p] > GONE_SHARE * most[p]) {
      if (is_shadow(most, p)) {
        continue;
      }
      add_pitch(pitches, sounds, p, last);
    } else if (most[p] > CHANGE_SHARE * top) {
      return SR_UNSTEADY;
    }
  }
  if (pitches->count == 0) {
    return SR_UNSTEADY;
  }
  pitches->main_count = pitches->count;
  add_tails(pitches, sounds, first, last, loud);
  return SR_STEADY_NOTE;
}
