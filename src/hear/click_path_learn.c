// SPDX-License-Identifier: GPL-3.0-or-later

#include "click_path.h"

#include "click_path_state.h"
#include "tuning.h"
#include "windowed.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Mean of powers over neighbouring bins.
static void
smooth(const float* const power, float* const smoothed, const size_t bins)
{
  double sum = 0.0;
  for (size_t i = 0; i < SMOOTH && i < bins; ++i) {
    sum += (double)power[i];
  }
  for (size_t i = 0; i < bins; ++i) {
    sum += i + SMOOTH < bins ? (double)power[i + SMOOTH] : 0.0;
    smoothed[i] = (float)(fmax(sum, 0.0) / (2.0 * SMOOTH + 1.0)) + 1e-20f;
    sum -= i >= SMOOTH ? (double)power[i - SMOOTH] : 0.0;
  }
}

static void
power_of(const SrClickPath* const p, const fftwf_complex* const spectrum)
{
  for (size_t i = 0; i < p->bins; ++i) {
    p->power[i] = spectrum[i][0] * spectrum[i][0] + spectrum[i][1] * spectrum[i][1];
  }
}

/// Power of other sounds, scaled to the click's window: the maximum before the click and after it
/// has died away.
static void
noise_about(SrClickPath* const p, const float* const samples)
{
  const size_t count = p->before < p->size ? p->before : p->size;
  const size_t end = p->before + p->window;
  size_t from = 0;
  memset(p->noise, 0, p->bins * sizeof(float));
  while (from + count <= end) {
    double square = 0.0;
    memset(p->time, 0, p->size * sizeof(float));
    for (size_t i = 0; i < count; ++i) {
      const double hann = sr_hann(i, count);
      square += hann * hann;
      p->time[i] = (float)hann * samples[from + i];
    }
    fftwf_execute(p->forward);
    power_of(p, (const fftwf_complex*)p->heard);
    const float scale = (float)(p->taper_power / square);
    for (size_t i = 0; i < p->bins; ++i) {
      p->noise[i] = fmaxf(p->noise[i], scale * p->power[i]);
    }
    from += from == 0 ? 3 * count : count;
  }
  memcpy(p->power, p->noise, p->bins * sizeof(float));
  smooth(p->power, p->noise, p->bins);
}

/// The residual of the input against the model, and its power.
static void
leave(SrClickPath* const p)
{
  for (size_t i = 0; i < p->bins; ++i) {
    p->left[i][0] = p->heard[i][0] - p->model[i][0];
    p->left[i][1] = p->heard[i][1] - p->model[i][1];
  }
  power_of(p, (const fftwf_complex*)p->left);
  smooth(p->power, p->noise, p->bins);
}

/// The delay in samples at which the input matches the model best, within `reach`.
static double
best_shift(SrClickPath* const p, const double reach)
{
  power_of(p, (const fftwf_complex*)p->heard);
  smooth(p->power, p->noise, p->bins);
  for (size_t i = 0; i < p->bins; ++i) {
    const float scale = 1.0f / p->noise[i];
    const float hr = scale * p->heard[i][0];
    const float hi = scale * p->heard[i][1];
    p->left[i][0] = hr * p->model[i][0] + hi * p->model[i][1];
    p->left[i][1] = hi * p->model[i][0] - hr * p->model[i][1];
  }
  fftwf_execute(p->back);
  const long most = (long)fmin(ceil(reach), 0.25 * (double)p->size);
  long best = 0;
  const long size = (long)p->size;
  for (long i = -most; i <= most; ++i) {
    best = p->time[(i + size) % size] > p->time[(best + size) % size] ? i : best;
  }
  const double before = (double)p->time[(best - 1 + size) % size];
  const double peak = (double)p->time[(best + size) % size];
  const double after = (double)p->time[(best + 1 + size) % size];
  const double bend = before - 2.0 * peak + after;
  const double part = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
  return (double)best + fmin(0.5, fmax(-0.5, part));
}

/// Delay and level from the residual, to first order, each bin weighted by the power of other
/// sounds.
static void
measure(const SrClickPath* const p, double* const level, double* const level_variance,
        double* const late, double* const late_variance, double* const sureness)
{
  double level_sum = 0.0;
  double level_weight = 0.0;
  double late_sum = 0.0;
  double late_weight = 0.0;
  const double omega = 2.0 * M_PI / (double)p->size;
  for (size_t i = 0; i < p->bins; ++i) {
    const double mr = (double)p->model[i][0];
    const double mi = (double)p->model[i][1];
    const double er = (double)p->left[i][0];
    const double ei = (double)p->left[i][1];
    const double weight = 1.0 / (double)p->noise[i];
    const double w = omega * (double)i;
    const double power = weight * (mr * mr + mi * mi);
    level_sum += weight * (mr * er + mi * ei);
    level_weight += power;
    // Shifting by d samples adds -j w d times the model
    late_sum += weight * w * (mi * er - mr * ei);
    late_weight += w * w * power;
  }
  *level = level_weight > 0.0 ? level_sum / level_weight : 0.0;
  *level_variance = level_weight > 0.0 ? 0.5 * CAUTION / level_weight : HUGE_VAL;
  *late = late_weight > 0.0 ? late_sum / late_weight : 0.0;
  *late_variance = late_weight > 0.0 ? 0.5 * CAUTION / late_weight : HUGE_VAL;
  *sureness = (1.0 + *level) / sqrt(*level_variance);
}

static int
by_size(const void* const a, const void* const b)
{
  const float x = *(const float*)a;
  const float y = *(const float*)b;
  return (x > y) - (x < y);
}

/// Residual power relative to the prediction: the median over many bins, since harmonics of notes
/// fill only a few.
static float
usual_rest(const SrClickPath* const p)
{
  float picked[PICKED];
  size_t count = 0;
  for (size_t k = 0; k < PICKED; ++k) {
    const size_t i = (k + 1) * (p->bins - 1) / PICKED;
    const float power = p->model[i][0] * p->model[i][0] + p->model[i][1] * p->model[i][1];
    if (power > 0.0f) {
      picked[count++] = p->noise[i] / power;
    }
  }
  qsort(picked, count, sizeof(float), by_size);
  return count > 0 ? picked[count / 2] : 0.0f;
}

/// If the residuals of this click and the previous one are alike, the response has moved and is
/// tracked too slowly (as for the innovations of a Kalman filter, Mehra 1970): raise its
/// uncertainty by the part that is alike. Notes and noise are not alike from click to click.
static void
doubt_if_moved(SrClickPath* const p, const fftwf_complex* const sound, const double late)
{
  const double step = 2.0 * M_PI * late / (double)p->size;
  const double turn_re = cos(step);
  const double turn_im = sin(step);
  double re = 1.0;
  double im = 0.0;
  double alike = 0.0;
  size_t count = 0;
  for (size_t i = 0; i < p->bins; ++i) {
    const float sr = sound[i][0];
    const float si = sound[i][1];
    float now[2] = {0.0f, 0.0f};
    if (sr != 0.0f || si != 0.0f) {
      // Relative to the emitted sound, with all bins equally strong
      const float xr = sr * (float)re + si * (float)im;
      const float xi = sr * (float)im - si * (float)re;
      const float scale = 1.0f / sqrtf((sr * sr + si * si) * p->power[i] + 1e-30f);
      now[0] = scale * (xr * p->left[i][0] - xi * p->left[i][1]);
      now[1] = scale * (xr * p->left[i][1] + xi * p->left[i][0]);
      const float lr = p->last[i][0];
      const float li = p->last[i][1];
      alike += (double)(now[0] * lr + now[1] * li);
      count += lr != 0.0f || li != 0.0f ? 1 : 0;
    }
    p->last[i][0] = now[0];
    p->last[i][1] = now[1];
    const double next = re * turn_re - im * turn_im;
    im = re * turn_im + im * turn_re;
    re = next;
  }
  // The mean over bins, of which the window leaves slightly fewer independent ones
  const double mean = count > 0 ? alike / (double)count : 0.0;
  if (mean > CLICK_PATH_ALIKE * sqrt(1.0 / (double)(count + 1))) {
    const float doubt = fminf(1.0f, (float)mean * usual_rest(p));
    for (size_t i = 0; i < p->bins; ++i) {
      const float power =
          p->response[i][0] * p->response[i][0] + p->response[i][1] * p->response[i][1];
      p->uncertainty[i] = fmaxf(p->uncertainty[i], doubt * power);
    }
  }
}

/// Update the response by the residual, bin by bin, with the gain of a Kalman filter (Kalman 1960):
/// a note's harmonics contribute next to nothing, the bins between them do.
static void
correct(SrClickPath* const p, const fftwf_complex* const sound, const double late, const bool own)
{
  const double step = 2.0 * M_PI * late / (double)p->size;
  const double turn_re = cos(step);
  const double turn_im = sin(step);
  double re = p->gain;
  double im = 0.0;
  for (size_t i = 0; i < p->bins; ++i) {
    // The sound as in the model, conjugate
    const float xr = sound[i][0] * (float)re + sound[i][1] * (float)im;
    const float xi = sound[i][0] * (float)im - sound[i][1] * (float)re;
    const float power = xr * xr + xi * xi;
    if (power > 0.0f) {
      // The residual (`own`) consists of the response's own uncertainty and other sounds
      const float doubted = p->uncertainty[i] * power;
      const float least = LEAST_NOISE * p->noise[i];
      const float noise = own ? fmaxf(p->noise[i] - doubted, least) : p->noise[i];
      const float gain = p->uncertainty[i] / (doubted + noise);
      const float er = p->left[i][0];
      const float ei = p->left[i][1];
      p->response[i][0] += gain * (xr * er - xi * ei);
      p->response[i][1] += gain * (xr * ei + xi * er);
      p->uncertainty[i] = noise * gain + MOVES * (p->response[i][0] * p->response[i][0] +
                                                  p->response[i][1] * p->response[i][1]);
    }
    const double next = re * turn_re - im * turn_im;
    im = re * turn_im + im * turn_re;
    re = next;
  }
}

/// Limit the response to its support.
static void
tidy(SrClickPath* const p)
{
  memcpy(p->left, p->response, p->bins * sizeof(fftwf_complex));
  fftwf_execute(p->back);
  const float scale = 1.0f / (float)p->size;
  for (size_t i = 0; i < p->size; ++i) {
    p->time[i] *= scale * p->support[i];
  }
  fftwf_execute(p->forward);
  memcpy(p->response, p->heard, p->bins * sizeof(fftwf_complex));
}

static void
hear(SrClickPath* const p, const float* const samples)
{
  memset(p->time, 0, p->size * sizeof(float));
  for (size_t i = 0; i < p->window; ++i) {
    p->time[i] = p->taper[i] * samples[i];
  }
  fftwf_execute(p->forward);
}

/// For the first click only the sound just before it is known.
static void
learn_first(SrClickPath* const p, const fftwf_complex* const sound, const double fraction)
{
  double heard = 0.0;
  double sent = 0.0;
  memcpy(p->left, p->heard, p->bins * sizeof(fftwf_complex));
  power_of(p, (const fftwf_complex*)p->left);
  for (size_t i = 0; i < p->bins; ++i) {
    const float power = sound[i][0] * sound[i][0] + sound[i][1] * sound[i][1];
    heard += power > 0.0f ? (double)p->power[i] : 0.0;
    sent += (double)power;
    p->noise[i] = fmaxf(p->noise[i], 1e-4f * p->power[i]);
  }
  p->first_uncertainty = FIRST_UNCERTAINTY * (float)(heard / fmax(sent, 1e-30));
  for (size_t i = 0; i < p->bins; ++i) {
    p->uncertainty[i] = p->first_uncertainty;
  }
  correct(p, sound, sr_click_path_place(p, fraction), false);
}

static void
follow_gain(SrClickPath* const p, const double level, const double level_variance)
{
  p->gain_variance += GAIN_MOVES * GAIN_MOVES;
  if (level * level > 16.0 * (p->gain_variance + level_variance)) {
    p->gain_variance = level * level; // the volume was changed
  }
  const double part = p->gain_variance / (p->gain_variance + level_variance);
  p->gain *= fmax(0.0, 1.0 + part * level);
  p->gain_variance *= 1.0 - part;
}

SrClickLesson
sr_click_path_learn(SrClickPath* const p, const float* const samples, const bool accent,
                    const double fraction, const double deviation)
{
  const fftwf_complex* const sound = (const fftwf_complex*)p->sounds[accent ? 1 : 0];
  SrClickLesson lesson = {.deviation = (double)INFINITY};
  if (p->lessons++ == 0) {
    noise_about(p, samples);
    hear(p, samples + p->before);
    learn_first(p, sound, fraction);
    tidy(p);
    return lesson;
  }
  hear(p, samples + p->before);
  const double at = sr_click_path_place(p, fraction);
  sr_click_path_model(p, (const fftwf_complex*)p->response, sound, at, p->model);
  double shift = 0.0;
  if (3.0 * deviation > 0.3) {
    shift = best_shift(p, 3.0 * deviation + 1.0);
    sr_click_path_model(p, (const fftwf_complex*)p->response, sound, at + shift, p->model);
  }
  leave(p);
  double level = 0.0;
  double level_variance = 0.0;
  double late = 0.0;
  double late_variance = 0.0;
  measure(p, &level, &level_variance, &late, &late_variance, &lesson.sureness);
  lesson.shift = shift + fmin(1.0, fmax(-1.0, late));
  lesson.deviation = sqrt(late_variance);
  follow_gain(p, level, level_variance);
  const double part = deviation * deviation / (deviation * deviation + late_variance);
  const double known = at + part * lesson.shift;
  sr_click_path_model(p, (const fftwf_complex*)p->response, sound, known, p->model);
  leave(p);
  doubt_if_moved(p, sound, known);
  correct(p, sound, known, true);
  tidy(p);
  return lesson;
}
