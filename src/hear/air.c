// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air.c
   Windows of 85 ms at the full rate, where the sounds are steady; sound_finder.c is asked a moment
   later, when starts are known. For a note too short for that, and not low, windows of half the
   length are tried. Harmonics are removed (inter_harmonic_noise.h), and what the room and the reed
   make by themselves is subtracted (own_noise.h). A recording's windows wait in a ring of some two
   minutes, so that each reed is known by then (sr_hear_air_later()). During live following nothing
   waits; the second hearing of a round waits as a recording does.

   The grid matters: in two hours without air, 5 releases were reported as audible with windows that
   began with the take, and 10 to 26 with others. The windows are now placed by the loudest sample
   (frame_grid_offset.h), and the figures of the tests are of that.

   If the reeds' own noise is over MOST_OWN, or nothing is left above 4.4 kHz, the recording cannot
   carry air (sr_hear_air_carriage()), and judge reports none. Whether a release is audible is
   decided in src/judge/air.c by mask.h.

   Where notes are doubled, it varies with every breath which of two octaves takes the harmonics
   they share. All octaves of a pitch are then one, there are no short windows, and a run continues
   under what is heard as another note. A note under loud air seems to sink, since the noise
   template takes its part; judge joins what was split by that.
*/

#include "air.h"

#include "air_run.h"
#include "frame_grid_offset.h"
#include "inter_harmonic_noise.h"
#include "larger.h"
#include "own_noise.h"
#include "profile.h"
#include "simd.h"
#include "steady_pitches.h"
#include "tuning.h"

#include <math.h>
#include <stdint.h>

/// Windows kept, for a note's earlier level and pitch.
#define WINDOWS 128u

/// Most windows waited for before a decision, if the whole take is available.
#define AHEAD 4096u

/// Windows of one length.
typedef struct {
  SrInterHarmonic* between;
  size_t size;   ///< Samples
  float* linear; ///< One window
  double weight; ///< Of one window
  bool brief;    ///< Short, for notes too short for the long ones
} Lens;

/// A measured window.
typedef struct {
  const Lens* lens;
  uint64_t start; ///< Its first sample
  bool measured;  ///< If false, nothing below is known
  SrAirWindow window;
  SrInterHarmonicMeasure measure;
  SrAirPiece piece;
  double reference; ///< Power of its note, or of the last one
  double since_note_s;
} Measured;

/// A window with its expected noise.
typedef struct {
  const Measured* m;
  float expected[SR_BANDS];
  double low; ///< From low_power()
} Seen;

/// A release that was found.
typedef struct {
  SrAirHeard heard;
  bool sure;
} Release;

/// The floor of windows that wait.
typedef struct {
  uint64_t first;    ///< The first of them
  uint64_t measured; ///< Windows measured by then
  SrFloor floor;
} Behind;

struct SrAirFinderImpl {
  double rate_hz;
  const SrProfile* profile;
  Lens whole;
  Lens half;
  SrOwnNoise* own;
  SrFloor heard_floor; ///< Of the room, from the windows measured so far
  SrFloor room;        ///< The same, from the windows decided so far
  SrFloor notes;       ///< The same, from those with a note
  Behind behind[2];    ///< Of the windows between notes, and of those with one
  Measured* waiting;   ///< Ring of windows to be decided
  size_t wait;         ///< Its size; 1 if windows are decided at once
  uint64_t measured;   ///< Windows put into it
  uint64_t decided;    ///< Windows taken out
  size_t hop;
  float* samples; ///< Ring buffer
  size_t size;
  uint64_t pushed;
  double origin_s;   ///< Origin of the blocks, aligned to the windows
  uint64_t next;     ///< First sample of the next window to measure
  uint64_t done;     ///< The same, to decide
  double last_power; ///< Of the last note measured
  double last_power_s;
  double spoilt_until_s;
  double last_other; ///< Power of other tones in the last window, while they only sink
  double last_low;   ///< Low-frequency excess of the last window
  bool low_gap;      ///< The last window, between notes, had low-frequency excess
  double dying;      ///< Remainder of the last release; only noise rising above it is a new one
  SrAirWindow windows[WINDOWS];
  size_t window_count;
  SrAirRun run;
  Release* queue; ///< Releases found and not yet pulled
  size_t queued;
  size_t queue_room;
  bool finished;
};

static bool
open_lens(Lens* const lens, const double rate_hz, const double window_s, const double weight)
{
  lens->between = sr_inter_harmonic_new(rate_hz, window_s);
  lens->size = lens->between ? sr_inter_harmonic_size(lens->between) : 0;
  lens->linear = sr_vector_new(lens->size);
  lens->weight = weight;
  lens->brief = weight < 1.0;
  return lens->between && lens->linear;
}

static void
close_lens(Lens* const lens)
{
  sr_inter_harmonic_del(lens->between);
  free(lens->linear);
}

SrAirFinder*
sr_air_finder_new(const double rate_hz, const SrProfile* const profile)
{
  SrAirFinder* const a = (SrAirFinder*)calloc(1, sizeof(SrAirFinder));
  if (!a) {
    return NULL;
  }
  a->rate_hz = rate_hz;
  a->profile = profile;
  const bool ready = open_lens(&a->whole, rate_hz, SR_INTER_HARMONIC_WINDOW_S, 1.0) &&
                     open_lens(&a->half, rate_hz, SR_INTER_HARMONIC_SHORT_S, 0.5);
  a->own = sr_own_noise_new();
  a->wait = 1;
  a->waiting = (Measured*)calloc(1, sizeof(Measured));
  if (ready && a->own && a->waiting) {
    a->hop = a->whole.size / AIR_OVERLAP;
    a->size = (size_t)(AIR_KEPT_S * rate_hz);
    a->samples = sr_vector_new(a->size);
  }
  if (!a->samples) {
    sr_air_finder_del(a);
    return NULL;
  }
  a->spoilt_until_s = -1.0;
  a->last_power_s = -10.0;
  return a;
}

void
sr_air_finder_del(SrAirFinder* const a)
{
  if (a) {
    close_lens(&a->whole);
    close_lens(&a->half);
    sr_own_noise_del(a->own);
    free(a->waiting);
    free(a->queue);
    free(a->samples);
    free(a);
  }
}

void
sr_air_finder_place(SrAirFinder* const a, const int64_t sample)
{
  // The loudest sample may be a knock: a window starting at it would hold only its decay, which is
  // as smooth as air
  a->next = sr_frame_grid_offset(sample + (int64_t)(a->hop / 2), a->hop);
  a->origin_s = (double)a->next / a->rate_hz;
}

bool
sr_air_finder_wait(SrAirFinder* const a)
{
  Measured* const waiting = (Measured*)calloc(AHEAD, sizeof(Measured));
  if (!waiting) {
    return false;
  }
  free(a->waiting);
  a->waiting = waiting;
  a->wait = AHEAD;
  return true;
}

void
sr_air_finder_push(SrAirFinder* const a, const float* const samples, const size_t count)
{
  for (size_t done = 0; done < count;) {
    const size_t at = (size_t)(a->pushed % a->size);
    const size_t room = a->size - at;
    const size_t step = count - done < room ? count - done : room;
    memcpy(a->samples + at, samples + done, step * sizeof(float));
    a->pushed += step;
    done += step;
  }
}

/// Hop of the long windows, s.
static double
hop_s(const SrAirFinder* const a)
{
  return (double)a->hop / a->rate_hz;
}

static const float*
window_samples(const SrAirFinder* const a, const Lens* const lens, const uint64_t start)
{
  const size_t at = (size_t)(start % a->size);
  if (a->size - at >= lens->size) {
    return a->samples + at;
  }
  const size_t first = a->size - at;
  memcpy(lens->linear, a->samples + at, first * sizeof(float));
  memcpy(lens->linear + first, a->samples, (lens->size - first) * sizeof(float));
  return lens->linear;
}

/// Whether at least two groups of bands exceed the expected noise by similar factors; noise in only
/// one is a tone.
static bool
is_broad(const float* const noise, const float* const expected)
{
  const float least = powf(10.0f, LEAST_EXCESS_DB / 10.0f);
  float first = 0.0f;
  float second = 0.0f;
  for (size_t g = 0; g < SR_AIR_GROUPS; ++g) {
    float heard = 0.0f;
    float usual = 0.0f;
    for (size_t b = SR_AIR_GROUP_EDGES[g]; b < SR_AIR_GROUP_EDGES[g + 1]; ++b) {
      heard += noise[b];
      usual += expected[b];
    }
    const float ratio = heard / (usual + 1e-20f);
    second = sr_larger(sr_smaller(ratio, first), second);
    first = sr_larger(ratio, first);
  }
  return second > least && second > AIR_ALIKE * first;
}

/// A window's frequency moved to a pitch's octave, since the octave may have been measured; NAN if
/// it is not an octave of it.
static double
frequency_in(const SrAirFinder* const a, const SrAirWindow* const w, const size_t pitch)
{
  const double nominal_hz = sr_profile_frequency_hz(a->profile, pitch);
  const double hz = w->frequency_hz * exp2(round(log2(nominal_hz / w->frequency_hz)));
  return fabs(1200.0 * log2(hz / nominal_hz)) < MOST_BENT_CENTS ? hz : (double)NAN;
}

/// Dip and bend of the note during a release, relative to just before and after it.
static void
measure_note(const SrAirFinder* const a, SrAirHeard* const heard)
{
  heard->dip_db = (double)NAN;
  heard->bend_cents = (double)NAN;
  if (heard->midi < 0) {
    return;
  }
  const size_t pitch = (size_t)(heard->midi - SR_LOWEST_MIDI);
  // Just before and just after, and the distance of each
  double outside[2] = {0.0, 0.0};
  double away_s[2] = {ABOUT_S, ABOUT_S};
  double inside = INFINITY;
  const size_t kept = a->window_count < WINDOWS ? a->window_count : WINDOWS;
  double outside_hz = 0.0;
  double outside_hz_count = 0.0;
  double bend = 0.0;
  bool bent = false;
  for (size_t i = 0; i < kept; ++i) {
    const SrAirWindow* const w = &a->windows[i];
    if (!w->note || w->pitch != pitch) {
      continue;
    }
    const bool before = w->time_s < heard->start_s - 0.25 * SR_INTER_HARMONIC_WINDOW_S;
    const bool behind = w->time_s > heard->end_s + 0.25 * SR_INTER_HARMONIC_WINDOW_S;
    const double apart = fmax(heard->start_s - w->time_s, w->time_s - heard->end_s);
    if ((before || behind) && apart < ABOUT_S) {
      const double hz = frequency_in(a, w, pitch);
      outside_hz += isfinite(hz) ? hz : 0.0;
      outside_hz_count += isfinite(hz) ? 1.0 : 0.0;
      if (apart < away_s[behind]) {
        outside[behind] = w->power;
        away_s[behind] = apart;
      }
    }
  }
  for (size_t i = 0; i < kept; ++i) {
    const SrAirWindow* const w = &a->windows[i];
    if (!w->note || w->pitch != pitch || w->time_s < heard->start_s || w->time_s > heard->end_s) {
      continue;
    }
    inside = fmin(inside, w->power);
    const double hz = frequency_in(a, w, pitch);
    if (isfinite(hz) && outside_hz_count > 0.0) {
      const double cents = 1200.0 * log2(hz / (outside_hz / outside_hz_count));
      bend = !bent || fabs(cents) > fabs(bend) ? cents : bend;
      bent = true;
    }
  }
  heard->bend_cents = bent ? bend : (double)NAN;
  const double sides = (outside[0] > 0.0) + (outside[1] > 0.0);
  if (sides > 0.0 && isfinite(inside)) {
    heard->dip_db = fmax(0.0, 10.0 * log10((outside[0] + outside[1]) / sides / inside));
  }
}

/// Room for one more release; false if out of memory, it is then dropped.
static bool
make_room(SrAirFinder* const a)
{
  if (a->queued == a->queue_room) {
    const size_t room = 2 * a->queue_room + 16;
    Release* const queue = (Release*)realloc(a->queue, room * sizeof(Release));
    if (!queue) {
      return false;
    }
    a->queue = queue;
    a->queue_room = room;
  }
  return true;
}

/// End a run; report it if it is air.
static void
close_run(SrAirFinder* const a)
{
  Release release;
  a->run.open = false;
  const SrAirVerdict verdict = sr_air_run_weigh(&a->run, hop_s(a), &release.heard);
  if (verdict == SR_AIR_NOT || !make_room(a)) {
    return;
  }
  release.heard.start_s += a->origin_s;
  release.heard.end_s += a->origin_s;
  measure_note(a, &release.heard);
  release.sure = verdict == SR_AIR_SURE;
  a->queue[a->queued++] = release;
}

/**
   Excess noise at low frequencies that is far denser than higher up: a voice, a thump, a card that
   bends; air is not like that.

   @return Its power, 0 if it is not so.
*/
static double
low_power(const float* const noise, const float* const expected, const double reference)
{
  double low = 0.0;
  double middle = 0.0;
  for (size_t b = 2; b < SR_AIR_FIRST_BAND; ++b) {
    low += (double)sr_larger(noise[b] - 2.0f * expected[b], 0.0f);
  }
  for (size_t b = SR_AIR_GROUP_EDGES[0]; b < SR_AIR_GROUP_EDGES[1]; ++b) {
    middle += (double)sr_larger(noise[b] - expected[b], 0.0f);
  }
  const double low_hz = SR_BAND_EDGES_HZ[SR_AIR_FIRST_BAND] - SR_BAND_EDGES_HZ[2];
  const double middle_hz =
      SR_BAND_EDGES_HZ[SR_AIR_GROUP_EDGES[1]] - SR_BAND_EDGES_HZ[SR_AIR_GROUP_EDGES[0]];
  const bool is_low =
      low > LEAST_LOW * reference && low / low_hz > LOW_OVER_MIDDLE * middle / middle_hz;
  return is_low ? low : 0.0;
}

/// Rule out air near a time.
static void
spoil(SrAirFinder* const a, const double time_s)
{
  a->spoilt_until_s = time_s + SPOILT_S;
  a->run.spoilt = a->run.spoilt || (a->run.open && time_s - a->run.last_flagged_s < SPOILT_S);
  while (a->queued > 0 && !a->queue[a->queued - 1].sure &&
         a->queue[a->queued - 1].heard.end_s > time_s - SPOILT_S) {
    --a->queued;
  }
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

/// Measure a window that starts at a sample; false if impossible.
static bool
measure_window(const SrAirFinder* const a, const SrSoundFinder* const sounds,
               const Lens* const lens, const uint64_t start, Measured* const m)
{
  if (lens->brief && a->profile->doubled) {
    return false;
  }
  const double frames_s = sr_sound_finder_frame_s(sounds);
  const double start_s = (double)start / a->rate_hz;
  const double length_s = (double)lens->size / a->rate_hz;
  const int64_t first = (int64_t)((start_s - SETTLE_S) / frames_s);
  const int64_t last = (int64_t)((start_s + length_s) / frames_s);
  SrInterHarmonicPitches pitches;
  const SrSteadiness kind = sr_steady_pitches(sounds, a->profile->doubled, first, last, &pitches);
  const bool note = kind == SR_STEADY_NOTE;
  if (kind == SR_UNSTEADY || (lens->brief && !(note && lowest_of(&pitches) >= BRIEF_LOWEST)) ||
      !sr_inter_harmonic_measure(lens->between, window_samples(a, lens, start), a->profile,
                                 &pitches, &m->measure)) {
    return false;
  }
  // In a short window, other tones may be the start or end of a note
  if (lens->brief && m->measure.peak_ratio > PEAKY) {
    return false;
  }
  m->window = (SrAirWindow){.time_s = start_s + 0.5 * length_s,
                            .weight = lens->weight,
                            .note = note,
                            .doubled = a->profile->doubled,
                            .pitch = note ? pitches.pitch[0] : SR_PITCHES,
                            .power = m->measure.power,
                            .frequency_hz = lens->brief ? (double)NAN : m->measure.frequency_hz};
  m->reference = note ? m->measure.power : a->last_power;
  m->since_note_s = note ? 0.0 : m->window.time_s - a->last_power_s;
  // The envelope is only needed for possible air
  m->piece = sr_air_reported(m->measure.noise) > LEAST_ADDED * m->reference
                 ? sr_air_piece(lens->between, a->rate_hz, hop_s(a), m->window.time_s - a->origin_s)
                 : (SrAirPiece){0};
  return true;
}

/// Update the expected noise of a window's reed, or of the room.
static void
learn_window(SrAirFinder* const a, const Measured* const m)
{
  if (m->window.note) {
    a->last_power = m->measure.power;
    a->last_power_s = m->window.time_s;
    sr_own_noise_learn(a->own, m->window.pitch, m->window.time_s, m->measure.power,
                       m->measure.noise, sr_floor_of(&a->heard_floor, false));
  } else {
    sr_floor_add(&a->heard_floor, m->measure.noise);
  }
}

/// A waiting window.
static const Measured*
waiting_at(const SrAirFinder* const a, const uint64_t index)
{
  return &a->waiting[index % a->wait];
}

/// The first window of one kind from a place on; `measured` if there is none.
static uint64_t
next_of(const SrAirFinder* const a, const bool note, const uint64_t from)
{
  uint64_t i = from;
  while (i < a->measured &&
         !(waiting_at(a, i)->measured && waiting_at(a, i)->window.note == note)) {
    ++i;
  }
  return i;
}

/// The floor of the windows of one kind after the one to be decided.
static const float*
floor_behind(SrAirFinder* const a, const bool note)
{
  Behind* const behind = &a->behind[note];
  const uint64_t first = next_of(a, note, a->decided + 1);
  // It is the same while windows of the other kind are decided
  const bool complete = behind->measured == a->measured || behind->floor.count == SR_FLOOR_WINDOWS;
  if (behind->first != first || !complete) {
    behind->first = first;
    behind->measured = a->measured;
    behind->floor.count = behind->floor.measured = 0;
    for (uint64_t i = first; i < a->measured && behind->floor.count < SR_FLOOR_WINDOWS;
         i = next_of(a, note, i + 1)) {
      sr_floor_add(&behind->floor, waiting_at(a, i)->measure.noise);
    }
  }
  return sr_floor_of(&behind->floor, note);
}

/// Whether a window has more noise than expected, and broadband.
static bool
is_over(const Measured* const m, const float* const expected)
{
  const double hiss = sr_air_reported(m->measure.noise) - sr_air_reported(expected);
  return hiss > LEAST_ADDED * m->reference && is_broad(m->measure.noise, expected);
}

/// Raise the expected noise to a floor plus a reed's own noise, where known.
static void
expect_least(float* const expected, const float* const floor, const float* const own)
{
  for (size_t b = 0; floor && b < SR_BANDS; ++b) {
    expected[b] = sr_larger(floor[b] + (own ? own[b] : 0.0f), expected[b]);
  }
}

/// Expected noise in the window to be decided.
static void
expect(SrAirFinder* const a, Seen* const seen)
{
  const Measured* const m = seen->m;
  const bool note = m->window.note;
  float own[SR_BANDS] = {0.0f};
  if (note) {
    sr_own_noise_expect(a->own, m->window.pitch, m->measure.power, own);
  }
  memcpy(seen->expected, own, sizeof(own));
  expect_least(seen->expected, sr_floor_of(&a->room, false), own);
  seen->low = low_power(m->measure.noise, seen->expected, m->reference);
  if (is_over(m, seen->expected)) {
    // The floor may have risen, or be about to: what stays up is not air
    expect_least(seen->expected, floor_behind(a, false), own);
    if (note) {
      expect_least(seen->expected, sr_floor_of(&a->notes, true), NULL);
      expect_least(seen->expected, floor_behind(a, true), NULL);
    }
  }
}

/// Detect other sounds: a voice, a creak. What dies away only sinks.
static void
watch_others(SrAirFinder* const a, const Seen* const seen)
{
  const Measured* const m = seen->m;
  const double power = m->measure.other_power;
  const bool others = m->measure.peak_ratio > PEAKY && power > AIR_LEAST_OTHER * m->reference &&
                      power > SINKING * a->last_other;
  const bool comes_up = m->window.note && seen->low > RISING * a->last_low;
  // Just before a note this may be its first trace
  const bool low_gap = !m->window.note && seen->low > 0.0;
  if (others || comes_up || (!m->window.note && a->low_gap)) {
    spoil(a, m->window.time_s);
  }
  a->last_other = power < SINKING * a->last_other ? power : 0.0;
  a->last_low = fmax(seen->low, LEAST_LOW * m->reference);
  a->low_gap = low_gap;
}

/// Start or continue a run, or count a missing window.
static void
follow_run(SrAirFinder* const a, const Seen* const seen)
{
  const Measured* const m = seen->m;
  const SrAirWindow* const window = &m->window;
  const double hiss = sr_air_reported(m->measure.noise) - sr_air_reported(seen->expected);
  const bool may_be =
      window->note || (m->since_note_s < MOST_GAP_S && sr_floor_of(&a->room, false) != NULL);
  const bool over = may_be && is_over(m, seen->expected);
  if (over && a->run.open && sr_air_run_is_another(&a->run, window, hiss)) {
    close_run(a);
  }
  if (over && !a->run.open && hiss > NEW_RELEASE * a->dying) {
    sr_air_run_open(&a->run, hop_s(a), window->time_s - a->origin_s,
                    window->time_s < a->spoilt_until_s);
  }
  a->dying = over ? fmin(a->dying, hiss) : 0.0;
  if (over && a->run.open) {
    sr_air_run_add(&a->run, window, &m->piece, m->reference, &m->measure, seen->expected);
  } else {
    a->run.missed += window->weight;
  }
}

/// Decide on the window that has waited longest.
static void
decide(SrAirFinder* const a)
{
  const Measured* const m = waiting_at(a, a->decided);
  const Lens* const lens = m->lens;
  Seen seen = {.m = m};
  bool measured = m->measured;
  if (measured) {
    expect(a, &seen);
    measured = !(lens->brief && seen.low > 0.0);
  }
  if (measured) {
    a->windows[a->window_count++ % WINDOWS] = m->window;
    if (!lens->brief) {
      watch_others(a, &seen);
    }
    follow_run(a, &seen);
    sr_floor_add(m->window.note ? &a->notes : &a->room, m->measure.noise);
  } else if (!lens->brief) {
    a->low_gap = false;
    a->last_low = (double)INFINITY;
    a->last_other = (double)INFINITY;
  }
  const double time_s = ((double)m->start + 0.5 * (double)lens->size) / a->rate_hz;
  // Dying away in the room, or before windows that cannot be measured
  const bool dies = a->run.last < (measured ? DEAD : DYING) * a->run.most;
  const double first_s = a->origin_s + hop_s(a) / SR_AIR_HOP_BLOCKS * (double)a->run.first;
  if (a->run.open && (dies || time_s - a->run.last_flagged_s > BRIDGE_S ||
                      a->run.missed >= MOST_MISSED || time_s - first_s > LONGEST_S)) {
    a->dying = a->run.missed > 0.0 ? 0.0 : a->run.last;
    close_run(a);
  }
  a->done = lens->brief ? a->done : m->start + a->hop;
  ++a->decided;
}

/// Process a window that starts at a sample; false if it cannot be measured.
static bool
do_window(SrAirFinder* const a, const SrSoundFinder* const sounds, const Lens* const lens,
          const uint64_t start)
{
  Measured* const m = &a->waiting[a->measured++ % a->wait];
  m->lens = lens;
  m->start = start;
  m->measured = measure_window(a, sounds, lens, start, m);
  // decide() may release the place of the oldest window
  const bool measured = m->measured;
  if (measured) {
    learn_window(a, m);
  }
  if (a->measured - a->decided == a->wait) {
    decide(a);
  }
  return measured;
}

/// Process all windows that end at least `later_s` before the time heard.
static void
do_windows(SrAirFinder* const a, const SrSoundFinder* const sounds, const double later_s)
{
  const double heard_s = sr_sound_finder_frame_s(sounds) * (double)sr_sound_finder_frames(sounds);
  const size_t size = a->whole.size;
  while (a->next + size <= a->pushed && (double)(a->next + size) / a->rate_hz < heard_s - later_s) {
    if (!do_window(a, sounds, &a->whole, a->next)) {
      // The note may be too short for it
      const uint64_t middle = a->next + (size - a->half.size) / 2;
      do_window(a, sounds, &a->half, middle - a->hop / 4);
      do_window(a, sounds, &a->half, middle + a->hop / 4);
    }
    a->next += a->hop;
  }
}

void
sr_air_finder_do(SrAirFinder* const a, const SrSoundFinder* const sounds)
{
  do_windows(a, sounds, LATER_S);
}

void
sr_air_finder_finish(SrAirFinder* const a, const SrSoundFinder* const sounds)
{
  do_windows(a, sounds, 0.0);
  while (a->decided < a->measured) {
    decide(a);
  }
  a->finished = true;
  if (a->run.open) {
    close_run(a);
  }
}

bool
sr_air_finder_pull(SrAirFinder* const a, SrAirHeard* const heard)
{
  if (a->queued == 0) {
    return false;
  }
  // An uncertain release waits until the sounds after it are known
  const double done_s = (double)a->done / a->rate_hz;
  const Release* const first = &a->queue[0];
  if (!a->finished && !first->sure && first->heard.end_s > done_s - SPOILT_S) {
    return false;
  }
  *heard = first->heard;
  --a->queued;
  memmove(a->queue, a->queue + 1, a->queued * sizeof(Release));
  return true;
}

SrAirCarriage
sr_air_finder_carriage(const SrAirFinder* const a)
{
  float level[SR_BANDS];
  if (!sr_own_noise_median(a->own, level)) {
    return SR_AIR_CARRIED;
  }
  if (sr_air_reported(level) > MOST_OWN) {
    return SR_AIR_REWRITTEN;
  }
  // Densities per Hz
  const size_t* const edges = SR_AIR_GROUP_EDGES;
  double density[SR_AIR_GROUPS] = {0.0};
  for (size_t g = 0; g < SR_AIR_GROUPS; ++g) {
    for (size_t b = edges[g]; b < edges[g + 1]; ++b) {
      density[g] += (double)level[b];
    }
    density[g] /= SR_BAND_EDGES_HZ[edges[g + 1]] - SR_BAND_EDGES_HZ[edges[g]];
  }
  return density[2] < MISSING * density[0] ? SR_AIR_BAND_MISSING : SR_AIR_CARRIED;
}
