// SPDX-License-Identifier: GPL-3.0-or-later

// Peaks of the spectrum are followed from frame to frame. One that stays within some cents and
// decibels of where it began is steady; a reed has several at once.

#include "steady_partials.h"
#include "transform_plans.h"
#include "windowed.h"

#include <fftw3.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/// Shortest window, s; four frames to a window.
#define WINDOW_S 0.04
#define FRAMES_A_WINDOW 4u
/// Where partials are looked for, Hz.
#define LOWEST_HZ 180.0
#define HIGHEST_HZ 5000.0
/// Weaker peaks than the strongest of the frame by this, dB, do not count,
#define LEAST_DB (-30.0f)
/// … nor those softer than this, dBFS of a sine's amplitude.
#define SILENT_DB (-80.0f)
/// How far a steady partial may move, cents and dB.
#define MOST_CENTS 8.0f
#define MOST_DB 8.0f
/// Frames for which it must be steady.
#define STEADY_FRAMES 8u
/// Steady partials at once that make a reed.
#define REED_PARTIALS 4u
/// Most partials that are followed.
#define MOST_PARTIALS 64u

/// A partial and its range since it began.
typedef struct {
  float lowest; ///< Of its frequency, cents over 1 Hz
  float highest;
  float softest; ///< Of its level, dB
  float loudest;
  unsigned frames;
} Partial;

struct SrSteadyPartialsImpl {
  double rate_hz;
  size_t size; ///< Of a window, samples
  size_t hop;
  size_t fill;   ///< Samples in `input`
  float* input;  ///< The last window
  float* window; ///< Hann
  float* frame;
  fftwf_complex* bins;
  float* level; ///< dB of each bin
  fftwf_plan plan;
  float least_db; ///< Of a reed's loudest partial, dBFS
  Partial partials[MOST_PARTIALS];
  size_t count;
};

SrSteadyPartials*
sr_steady_partials_new(const double rate_hz)
{
  SrSteadyPartials* const p = (SrSteadyPartials*)calloc(1, sizeof(SrSteadyPartials));
  if (!p) {
    return NULL;
  }
  p->rate_hz = rate_hz;
  p->size = 64;
  while ((double)p->size < WINDOW_S * rate_hz) {
    p->size *= 2;
  }
  p->hop = p->size / FRAMES_A_WINDOW;
  p->input = fftwf_alloc_real(p->size);
  p->window = fftwf_alloc_real(p->size);
  p->frame = fftwf_alloc_real(p->size);
  p->bins = fftwf_alloc_complex(p->size / 2 + 1);
  p->level = fftwf_alloc_real(p->size / 2 + 1);
  p->plan = p->frame && p->bins ? sr_transform_plan(p->size, p->frame, p->bins) : NULL;
  if (!p->input || !p->window || !p->level || !p->plan) {
    sr_steady_partials_del(p);
    return NULL;
  }
  p->least_db = -INFINITY;
  for (size_t i = 0; i < p->size; ++i) {
    p->window[i] = (float)sr_hann(i, p->size);
  }
  return p;
}

void
sr_steady_partials_del(SrSteadyPartials* const p)
{
  if (p) {
    if (p->plan) {
      fftwf_destroy_plan(p->plan);
    }
    fftwf_free(p->input);
    fftwf_free(p->window);
    fftwf_free(p->frame);
    fftwf_free(p->bins);
    fftwf_free(p->level);
    free(p);
  }
}

void
sr_steady_partials_reset(SrSteadyPartials* const p, const double least_db)
{
  p->least_db = (float)least_db;
  p->fill = 0;
  p->count = 0;
}

/// Continue the partial before that lies nearest to a peak, or begin a new one.
static Partial
follow(const SrSteadyPartials* const p, const float cents, const float db)
{
  Partial best = {cents, cents, db, db, 1};
  for (size_t i = 0; i < p->count; ++i) {
    Partial next = p->partials[i];
    next.lowest = fminf(next.lowest, cents);
    next.highest = fmaxf(next.highest, cents);
    next.softest = fminf(next.softest, db);
    next.loudest = fmaxf(next.loudest, db);
    ++next.frames;
    if (next.highest - next.lowest <= MOST_CENTS && next.loudest - next.softest <= MOST_DB &&
        next.frames > best.frames) {
      best = next;
    }
  }
  return best;
}

/// Level of each bin, dB of a sine's amplitude; returns the largest.
static float
measure(SrSteadyPartials* const p, const size_t first, const size_t last)
{
  sr_windowed(p->input, p->window, p->size, p->frame);
  fftwf_execute(p->plan);
  const float scale = 4.0f / (float)p->size;
  float loudest = -INFINITY;
  for (size_t i = first - 1; i <= last + 1; ++i) {
    const float re = scale * p->bins[i][0];
    const float im = scale * p->bins[i][1];
    p->level[i] = 10.0f * log10f(re * re + im * im + 1e-20f);
    loudest = fmaxf(loudest, p->level[i]);
  }
  return loudest;
}

/// One frame; for how many samples a reed has sounded, 0 for none.
static size_t
look(SrSteadyPartials* const p)
{
  const double bin_hz = p->rate_hz / (double)p->size;
  const size_t first = (size_t)(LOWEST_HZ / bin_hz);
  const size_t last = (size_t)(HIGHEST_HZ / bin_hz);
  const float loudest = measure(p, first, last);
  const float least = fmaxf(loudest + LEAST_DB, SILENT_DB);
  Partial next[MOST_PARTIALS];
  size_t count = 0;
  size_t steady = 0;
  float steady_db = -INFINITY; // the loudest of them,
  unsigned oldest = 0;         // and the frames of the oldest
  for (size_t i = first; i <= last && count < MOST_PARTIALS; ++i) {
    const float below = p->level[i - 1];
    const float here = p->level[i];
    const float above = p->level[i + 1];
    if (here < least || here <= below || here < above) {
      continue;
    }
    // Parabola through the levels in dB
    const float shift = 0.5f * (below - above) / (below - 2.0f * here + above);
    const float cents = 1200.0f * log2f((float)bin_hz * ((float)i + shift));
    next[count] = follow(p, cents, here - 0.25f * (below - above) * shift);
    if (next[count].frames >= STEADY_FRAMES) {
      ++steady;
      steady_db = fmaxf(steady_db, here);
      oldest = next[count].frames > oldest ? next[count].frames : oldest;
    }
    ++count;
  }
  memcpy(p->partials, next, count * sizeof(Partial));
  p->count = count;
  const bool reed = steady >= REED_PARTIALS && steady_db >= p->least_db;
  return reed ? p->size + (oldest - 1) * p->hop : 0;
}

size_t
sr_steady_partials_push(SrSteadyPartials* const p, const float* const samples, const size_t count)
{
  size_t longest = 0;
  for (size_t i = 0; i < count; ++i) {
    p->input[p->fill++] = isfinite(samples[i]) ? samples[i] : 0.0f;
    if (p->fill == p->size) {
      const size_t found = look(p);
      longest = found > longest ? found : longest;
      p->fill -= p->hop;
      memmove(p->input, p->input + p->hop, p->fill * sizeof(float));
    }
  }
  return longest;
}
