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

   Whether a recording can carry air at all is decided by air_carriage.h; whether a release is
   audible, in src/judge/air.c by mask.h.

   Where notes are doubled, it varies with every breath which of two octaves takes the harmonics
   they share. All octaves of a pitch are then one, there are no short windows, and a run continues
   under what is heard as another note. A note under loud air seems to sink, since the noise
   template takes its part; judge joins what was split by that.
*/

#include "air.h"

#include "air_carriage.h"
#include "air_excess.h"
#include "air_lens.h"
#include "air_note.h"
#include "air_queue.h"
#include "air_run.h"
#include "frame_grid_offset.h"
#include "inter_harmonic_noise.h"
#include "larger.h"
#include "own_noise.h"
#include "simd.h"
#include "tuning.h"

#include <math.h>
#include <stdint.h>

/// Windows kept, for a note's earlier level and pitch.
#define WINDOWS 128u

/// Most windows waited for before a decision, if the whole take is available.
#define AHEAD 4096u

/// A measured window.
typedef struct {
  const SrAirLens* lens;
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
  double low; ///< From sr_air_low_power()
} Seen;

/// The floor of windows that wait.
typedef struct {
  uint64_t first;    ///< The first of them
  uint64_t measured; ///< Windows measured by then
  SrFloor floor;
} Behind;

struct SrAirFinderImpl {
  double rate_hz;
  const SrProfile* profile;
  SrAirLens whole;
  SrAirLens half;
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
  SrAirSamples samples;
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
  SrAirQueue queue; ///< Releases found and not yet pulled
  bool finished;
};

SrAirFinder*
sr_air_finder_new(const double rate_hz, const SrProfile* const profile)
{
  SrAirFinder* const a = (SrAirFinder*)calloc(1, sizeof(SrAirFinder));
  if (!a) {
    return NULL;
  }
  a->rate_hz = rate_hz;
  a->profile = profile;
  const bool ready = sr_air_lens_open(&a->whole, rate_hz, SR_INTER_HARMONIC_WINDOW_S, 1.0) &&
                     sr_air_lens_open(&a->half, rate_hz, SR_INTER_HARMONIC_SHORT_S, 0.5);
  a->own = sr_own_noise_new();
  a->wait = 1;
  a->waiting = (Measured*)calloc(1, sizeof(Measured));
  if (ready && a->own && a->waiting) {
    a->hop = a->whole.size / AIR_OVERLAP;
    a->samples.size = (size_t)(AIR_KEPT_S * rate_hz);
    a->samples.ring = sr_vector_new(a->samples.size);
  }
  if (!a->samples.ring) {
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
    sr_air_lens_close(&a->whole);
    sr_air_lens_close(&a->half);
    sr_own_noise_del(a->own);
    free(a->waiting);
    free(a->queue.releases);
    free(a->samples.ring);
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
  sr_air_samples_push(&a->samples, samples, count);
}

/// Hop of the long windows, s.
static double
hop_s(const SrAirFinder* const a)
{
  return (double)a->hop / a->rate_hz;
}

/// End a run; report it if it is air.
static void
close_run(SrAirFinder* const a)
{
  SrAirRelease release;
  a->run.open = false;
  const SrAirVerdict verdict = sr_air_run_weigh(&a->run, hop_s(a), &release.heard);
  if (verdict == SR_AIR_NOT) {
    return;
  }
  release.heard.start_s += a->origin_s;
  release.heard.end_s += a->origin_s;
  sr_air_note_measure(a->profile, a->windows, a->window_count < WINDOWS ? a->window_count : WINDOWS,
                      &release.heard);
  release.sure = verdict == SR_AIR_SURE;
  sr_air_queue_put(&a->queue, &release);
}

/// Rule out air near a time.
static void
spoil(SrAirFinder* const a, const double time_s)
{
  a->spoilt_until_s = time_s + SPOILT_S;
  a->run.spoilt = a->run.spoilt || (a->run.open && time_s - a->run.last_flagged_s < SPOILT_S);
  sr_air_queue_spoil(&a->queue, time_s);
}

/// Measure a window that starts at a sample; false if impossible.
static bool
measure_window(const SrAirFinder* const a, const SrSoundFinder* const sounds,
               const SrAirLens* const lens, const uint64_t start, Measured* const m)
{
  if (!sr_air_lens_measure(lens, &a->samples, a->profile, sounds, start, &m->window, &m->measure)) {
    return false;
  }
  const bool note = m->window.note;
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
  seen->low = sr_air_low_power(m->measure.noise, seen->expected, m->reference);
  if (sr_air_is_over(m->measure.noise, seen->expected, m->reference)) {
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
  const bool over = may_be && sr_air_is_over(m->measure.noise, seen->expected, m->reference);
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
  const SrAirLens* const lens = m->lens;
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
do_window(SrAirFinder* const a, const SrSoundFinder* const sounds, const SrAirLens* const lens,
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
  while (a->next + size <= a->samples.pushed &&
         (double)(a->next + size) / a->rate_hz < heard_s - later_s) {
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
  const double done_s = a->finished ? (double)INFINITY : (double)a->done / a->rate_hz;
  return sr_air_queue_pull(&a->queue, done_s, heard);
}

SrAirCarriage
sr_air_finder_carriage(const SrAirFinder* const a)
{
  return sr_air_carriage(a->own);
}
