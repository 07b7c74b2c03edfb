// SPDX-License-Identifier: GPL-3.0-or-later

#include "fine_pitch.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/// Length of a window, s.
#define WINDOW_S 0.046
/// From the first window to the second, s: first a little, since a phase is known only within a
/// turn, then further.
#define NEAR_S 0.005
#define FAR_S 0.025
/// A harmonic with less than this share of the next one's power is missing: -30 dB.
#define MISSING 1e-3
/// Harmonics used, and their highest frequency, Hz: further up, noise and other sounds weigh more.
#define HARMONICS 8
#define HIGHEST_HZ 5000.0

struct SrFinePitchImpl {
  double rate_hz;
  size_t window;
  size_t near;
  size_t far;
  float* taper;
  float* last; ///< The last samples, oldest first
  size_t room;
  size_t count;
};

SrFinePitch*
sr_fine_pitch_new(const double rate_hz)
{
  SrFinePitch* const f = (SrFinePitch*)calloc(1, sizeof(SrFinePitch));
  if (!f) {
    return NULL;
  }
  f->rate_hz = rate_hz;
  f->window = (size_t)(WINDOW_S * rate_hz);
  f->near = (size_t)(NEAR_S * rate_hz);
  f->far = (size_t)(FAR_S * rate_hz);
  f->room = f->window + f->far;
  f->taper = (float*)malloc(f->window * sizeof(float));
  f->last = (float*)calloc(f->room, sizeof(float));
  if (!f->taper || !f->last) {
    sr_fine_pitch_del(f);
    return NULL;
  }
  for (size_t i = 0; i < f->window; ++i) {
    const double x = 2.0 * M_PI * ((double)i + 0.5) / (double)f->window;
    f->taper[i] =
        (float)(0.35875 - 0.48829 * cos(x) + 0.14128 * cos(2.0 * x) - 0.01168 * cos(3.0 * x));
  }
  return f;
}

void
sr_fine_pitch_del(SrFinePitch* const f)
{
  if (f) {
    free(f->taper);
    free(f->last);
    free(f);
  }
}

void
sr_fine_pitch_push(SrFinePitch* const f, const float* const samples, const size_t count)
{
  const size_t added = count < f->room ? count : f->room;
  memmove(f->last, f->last + added, (f->room - added) * sizeof(float));
  for (size_t i = 0; i < added; ++i) {
    const float x = samples[count - added + i];
    f->last[f->room - added + i] = isfinite(x) ? x : 0.0f;
  }
  f->count = f->count + added < f->room ? f->count + added : f->room;
}

typedef struct {
  double re;
  double im;
} Phasor;

/// A partial in the window that begins at a sample; `step` is its phase from sample to sample.
static Phasor
partial_at(const SrFinePitch* const f, const size_t from, const double step)
{
  const double turn_re = cos(step);
  const double turn_im = -sin(step);
  double re = 1.0;
  double im = 0.0;
  Phasor sum = {0.0, 0.0};
  for (size_t i = 0; i < f->window; ++i) {
    const double x = (double)(f->taper[i] * f->last[from + i]);
    sum.re += x * re;
    sum.im += x * im;
    const double next = re * turn_re - im * turn_im;
    im = re * turn_im + im * turn_re;
    re = next;
  }
  return sum;
}

/// Correct a frequency by the advance of its harmonics over `apart` samples, each weighted by what
/// its phase, and its number, say of the fundamental.
static double
corrected_hz(const SrFinePitch* const f, const double hz, const size_t apart)
{
  const size_t late = f->room - f->window;
  double sum = 0.0;
  double weights = 0.0;
  for (int h = 1; h <= HARMONICS && (h == 1 || h * hz < HIGHEST_HZ); ++h) {
    const double step = 2.0 * M_PI * h * hz / f->rate_hz;
    const Phasor a = partial_at(f, late - apart, step);
    const Phasor b = partial_at(f, late, step);
    // What it has turned beyond the expected
    const double turned =
        atan2(b.im * a.re - b.re * a.im, b.re * a.re + b.im * a.im) - step * (double)apart;
    const double beyond = turned - 2.0 * M_PI * round(turned / (2.0 * M_PI));
    const double weight = h * h * sqrt((a.re * a.re + a.im * a.im) * (b.re * b.re + b.im * b.im));
    sum += weight * beyond * f->rate_hz / (2.0 * M_PI * h * (double)apart);
    weights += weight;
  }
  return weights > 0.0 ? hz + sum / weights : hz;
}

static double
power_at(const SrFinePitch* const f, const double hz)
{
  const Phasor p = partial_at(f, f->room - f->window, 2.0 * M_PI * hz / f->rate_hz);
  return p.re * p.re + p.im * p.im;
}

/// Whether a frequency is an octave too low: its odd harmonics are missing. YIN takes two periods
/// for one where a period is few samples and the sound is bright.
static bool
is_octave_low(const SrFinePitch* const f, const double hz)
{
  const double odd = power_at(f, hz) + power_at(f, 3.0 * hz);
  return odd < MISSING * power_at(f, 2.0 * hz);
}

double
sr_fine_pitch_hz(const SrFinePitch* const f, const double rough_hz)
{
  if (f->count < f->room) {
    return rough_hz;
  }
  const double hz = is_octave_low(f, rough_hz) ? 2.0 * rough_hz : rough_hz;
  return corrected_hz(f, corrected_hz(f, hz, f->near), f->far);
}
