// SPDX-License-Identifier: GPL-3.0-or-later

#include "air_lens.h"

#include "profile.h"
#include "simd.h"
#include "steady_pitches.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool
sr_air_lens_open(SrAirLens* const lens, const double rate_hz, const double window_s,
                 const double weight)
{
  lens->between = sr_inter_harmonic_new(rate_hz, window_s);
  lens->rate_hz = rate_hz;
  lens->size = lens->between ? sr_inter_harmonic_size(lens->between) : 0;
  lens->linear = sr_vector_new(lens->size);
  lens->weight = weight;
  lens->brief = weight < 1.0;
  return lens->between && lens->linear;
}

void
sr_air_lens_close(SrAirLens* const lens)
{
  sr_inter_harmonic_del(lens->between);
  free(lens->linear);
}

void
sr_air_samples_push(SrAirSamples* const s, const float* const samples, const size_t count)
{
  for (size_t done = 0; done < count;) {
    const size_t at = (size_t)(s->pushed % s->size);
    const size_t room = s->size - at;
    const size_t step = count - done < room ? count - done : room;
    memcpy(s->ring + at, samples + done, step * sizeof(float));
    s->pushed += step;
    done += step;
  }
}

static const float*
window_samples(const SrAirSamples* const s, const SrAirLens* const lens, const uint64_t start)
{
  const size_t at = (size_t)(start % s->size);
  if (s->size - at >= lens->size) {
    return s->ring + at;
  }
  const size_t first = s->size - at;
  memcpy(lens->linear, s->ring + at, first * sizeof(float));
  memcpy(lens->linear + first, s->ring, (lens->size - first) * sizeof(float));
  return lens->linear;
}

static size_t
lowest_of(const SrInterHarmonicPitches* const pitches)
{
  size_t lowest = SR_PITCHES;
  for (size_t i = 0; i < pitches->main_count; ++i) {
    lowest = pitches->pitch[i] < lowest ? pitches->pitch[i] : lowest;
  }
  return lowest;
}

bool
sr_air_lens_measure(const SrAirLens* const lens, const SrAirSamples* const samples,
                    const SrProfile* const profile, const SrSoundFinder* const sounds,
                    const uint64_t start, SrAirWindow* const window,
                    SrInterHarmonicMeasure* const measure)
{
  if (lens->brief && profile->doubled) {
    return false;
  }
  const double frames_s = sr_sound_finder_frame_s(sounds);
  const double start_s = (double)start / lens->rate_hz;
  const double length_s = (double)lens->size / lens->rate_hz;
  const int64_t first = (int64_t)((start_s - SETTLE_S) / frames_s);
  const int64_t last = (int64_t)((start_s + length_s) / frames_s);
  SrInterHarmonicPitches pitches;
  const SrSteadiness kind = sr_steady_pitches(sounds, profile->doubled, first, last, &pitches);
  const bool note = kind == SR_STEADY_NOTE;
  if (kind == SR_UNSTEADY || (lens->brief && !(note && lowest_of(&pitches) >= BRIEF_LOWEST)) ||
      !sr_inter_harmonic_measure(lens->between, window_samples(samples, lens, start), profile,
                                 &pitches, measure)) {
    return false;
  }
  // In a short window, other tones may be the start or end of a note
  if (lens->brief && measure->peak_ratio > PEAKY) {
    return false;
  }
  *window = (SrAirWindow){.time_s = start_s + 0.5 * length_s,
                          .weight = lens->weight,
                          .note = note,
                          .doubled = profile->doubled,
                          .pitch = note ? pitches.pitch[0] : SR_PITCHES,
                          .power = measure->power,
                          .frequency_hz = lens->brief ? (double)NAN : measure->frequency_hz};
  return true;
}
