// SPDX-License-Identifier: GPL-3.0-or-later

#include "click_path.h"

#include "click_path_state.h"
#include "transform_plans.h"
#include "transform_size.h"
#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void
sr_click_path_del(SrClickPath* const p)
{
  if (p) {
    if (p->forward) {
      fftwf_destroy_plan(p->forward);
    }
    if (p->back) {
      fftwf_destroy_plan(p->back);
    }
    fftwf_complex* const spectra[] = {p->sounds[0], p->sounds[1], p->response, p->heard,
                                      p->model,     p->left,      p->last};
    for (size_t i = 0; i < sizeof(spectra) / sizeof(spectra[0]); ++i) {
      fftwf_free(spectra[i]);
    }
    fftwf_free(p->time);
    free(p->taper);
    free(p->support);
    free(p->predicted);
    free(p->uncertainty);
    free(p->noise);
    free(p->power);
    free(p);
  }
}

/// Raised cosine from 0 to 1 over a length.
static float
fade(const double at, const double length)
{
  return at >= length ? 1.0f : at <= 0.0 ? 0.0f : (float)(0.5 - 0.5 * cos(M_PI * at / length));
}

static void
make_windows(SrClickPath* const p, const size_t longest)
{
  if (p->size == 0) {
    return;
  }
  const double response = (double)(p->window - p->lead - longest);
  const double end = (double)longest + 0.1 * response;
  for (size_t i = 0; i < p->window; ++i) {
    p->taper[i] =
        fade((double)i + 0.5, 0.5 * (double)p->lead) * fade((double)(p->window - i) - 0.5, end);
    p->taper_power += (double)(p->taper[i] * p->taper[i]);
  }
  for (size_t i = 0; i < p->size; ++i) {
    p->support[i] = 0.0f;
  }
  const size_t to = p->window - longest;
  for (size_t i = 0; i < to; ++i) {
    p->support[(i + p->size - p->lead) % p->size] =
        fade((double)i + 0.5, 0.5 * (double)p->lead) * fade((double)(to - i) - 0.5, 0.2 * response);
  }
}

static void
take_sound(SrClickPath* const p, const size_t sound, const float* const samples, const size_t count)
{
  memset(p->time, 0, p->size * sizeof(float));
  memcpy(p->time, samples, count * sizeof(float));
  fftwf_execute(p->forward);
  float most = 0.0f;
  for (size_t i = 0; i < p->bins; ++i) {
    p->power[i] = p->heard[i][0] * p->heard[i][0] + p->heard[i][1] * p->heard[i][1];
    most = fmaxf(most, p->power[i]);
  }
  for (size_t i = 0; i < p->bins; ++i) {
    const float scale = p->power[i] > CLICK_PATH_BAND_SHARE * most ? 1.0f : 0.0f;
    p->sounds[sound][i][0] = scale * p->heard[i][0];
    p->sounds[sound][i][1] = scale * p->heard[i][1];
  }
}

SrClickPath*
sr_click_path_new(const double rate_hz, const float* const sounds[2], const size_t counts[2],
                  const double period)
{
  SrClickPath* const p = (SrClickPath*)calloc(1, sizeof(SrClickPath));
  if (!p) {
    return NULL;
  }
  const size_t longest = counts[0] > counts[1] ? counts[0] : counts[1];
  p->lead = (size_t)(CLICK_PATH_LEAD_S * rate_hz);
  p->before = (size_t)(CLICK_PATH_BEFORE_S * rate_hz);
  p->envelope = (size_t)(0.5 * ENVELOPE_S * rate_hz);
  const double room = period - (double)p->lead - (double)longest - CLICK_PATH_APART_S * rate_hz;
  p->window = p->lead + (size_t)fmax(fmin(MOST_RESPONSE_S * rate_hz, room), 1.0) + longest;
  p->size = sr_transform_size(p->window);
  p->bins = p->size / 2 + 1;
  p->taper = (float*)malloc(p->window * sizeof(float));
  p->support = (float*)malloc(p->size * sizeof(float));
  p->predicted = (float*)malloc(p->window * sizeof(float));
  p->uncertainty = (float*)malloc(p->bins * sizeof(float));
  p->noise = (float*)malloc(p->bins * sizeof(float));
  p->power = (float*)malloc(p->bins * sizeof(float));
  p->time = fftwf_alloc_real(p->size);
  bool enough =
      p->taper && p->support && p->predicted && p->uncertainty && p->noise && p->power && p->time;
  fftwf_complex** const spectra[] = {&p->sounds[0], &p->sounds[1], &p->response, &p->heard,
                                     &p->model,     &p->left,      &p->last};
  for (size_t i = 0; i < sizeof(spectra) / sizeof(spectra[0]); ++i) {
    *spectra[i] = fftwf_alloc_complex(p->bins);
    enough = enough && *spectra[i];
  }
  if (enough) {
    p->forward = sr_transform_plan(p->size, p->time, p->heard);
    p->back = sr_transform_plan_back(p->size, p->left, p->time);
  }
  if (!p->forward || !p->back) {
    sr_click_path_del(p);
    return NULL;
  }
  make_windows(p, longest);
  take_sound(p, 0, sounds[0], counts[0]);
  take_sound(p, 1, sounds[1], counts[1]);
  sr_click_path_reset(p);
  return p;
}

size_t
sr_click_path_window(const SrClickPath* const p)
{
  return p->window;
}

size_t
sr_click_path_lead(const SrClickPath* const p)
{
  return p->lead;
}

size_t
sr_click_path_before(const SrClickPath* const p)
{
  return p->before;
}

double
sr_click_path_gain(const SrClickPath* const p)
{
  return p->gain;
}

void
sr_click_path_reset(SrClickPath* const p)
{
  memset(p->response, 0, p->bins * sizeof(fftwf_complex));
  memset(p->last, 0, p->bins * sizeof(fftwf_complex));
  p->gain = 1.0;
  p->gain_variance = 0.0;
  p->lessons = 0;
}

void
sr_click_path_model(const SrClickPath* const p, const fftwf_complex* const response,
                    const fftwf_complex* const sound, const double late,
                    fftwf_complex* const result)
{
  const double step = -2.0 * M_PI * late / (double)p->size;
  const double turn_re = cos(step);
  const double turn_im = sin(step);
  double re = p->gain;
  double im = 0.0;
  for (size_t i = 0; i < p->bins; ++i) {
    const float xr = sound[i][0] * (float)re - sound[i][1] * (float)im;
    const float xi = sound[i][0] * (float)im + sound[i][1] * (float)re;
    result[i][0] = response[i][0] * xr - response[i][1] * xi;
    result[i][1] = response[i][0] * xi + response[i][1] * xr;
    const double next = re * turn_re - im * turn_im;
    im = re * turn_im + im * turn_re;
    re = next;
  }
}

double
sr_click_path_place(const SrClickPath* const p, const double fraction)
{
  return (double)p->lead + fraction;
}

/// Variance of each sample of a predicted click.
static double
doubt_of(const SrClickPath* const p, const fftwf_complex* const sound)
{
  double variance = 0.0;
  for (size_t i = 0; i < p->bins; ++i) {
    // What was not learnt is not predicted either
    if (p->uncertainty[i] < 0.5f * p->first_uncertainty) {
      const float power = sound[i][0] * sound[i][0] + sound[i][1] * sound[i][1];
      variance += 2.0 * (double)(p->uncertainty[i] * power);
    }
  }
  const double size = (double)p->size;
  return p->gain * p->gain * variance / (size * size);
}

double
sr_click_path_left(const SrClickPath* const p)
{
  double left = 0.0;
  double whole = 0.0;
  for (size_t i = 0; i < p->bins; ++i) {
    const float* const x = p->sounds[0][i];
    const float* const h = p->response[i];
    if (p->uncertainty[i] < 0.5f * p->first_uncertainty) {
      const float power = x[0] * x[0] + x[1] * x[1];
      left += (double)(p->uncertainty[i] * power);
      whole += (double)((h[0] * h[0] + h[1] * h[1]) * power);
    }
  }
  return whole > 0.0 ? left / whole : 1.0;
}

const float*
sr_click_path_predict(SrClickPath* const p, const bool accent, const double fraction)
{
  const fftwf_complex* const sound = (const fftwf_complex*)p->sounds[accent ? 1 : 0];
  sr_click_path_model(p, (const fftwf_complex*)p->response, sound, sr_click_path_place(p, fraction),
                      p->left);
  fftwf_execute(p->back);
  const float scale = 1.0f / (float)p->size;
  const size_t width = 2 * p->envelope + 1;
  double sum = 0.0;
  for (size_t i = 0; i < p->size; ++i) {
    p->time[i] *= scale;
  }
  for (size_t i = 0; i < p->envelope; ++i) {
    sum += (double)(p->time[i] * p->time[i]);
  }
  // Below its own uncertainty the prediction is not subtracted: some click is better than hiss
  const double doubt = DOUBT * doubt_of(p, sound) * (double)width;
  for (size_t i = 0; i < p->window; ++i) {
    const double in = i + p->envelope < p->window ? (double)p->time[i + p->envelope] : 0.0;
    sum += in * in;
    p->predicted[i] = p->time[i] * (float)fmax(0.0, 1.0 - doubt / fmax(sum, 1e-30));
    const double out = i >= p->envelope ? (double)p->time[i - p->envelope] : 0.0;
    sum -= out * out;
  }
  return p->predicted;
}
