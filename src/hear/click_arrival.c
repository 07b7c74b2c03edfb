// SPDX-License-Identifier: GPL-3.0-or-later

#include "click_arrival.h"

#include "larger.h"
#include "transform_plans.h"
#include "transform_size.h"
#include "tuning.h"

#include <fftw3.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  size_t count;
  fftwf_complex* spectrum; ///< Conjugate, zero outside its band
  float energy;
  double freedoms; ///< Independent values in its band over its length
} Sound;

struct SrClickArrivalImpl {
  size_t lags;
  size_t window;
  size_t size;
  size_t fade;
  double rate_hz;
  double period;
  Sound sounds[2];
  float* input;
  fftwf_complex* spectrum;
  fftwf_complex* filtered; ///< Analytic signals
  fftwf_complex* matched;
  fftwf_plan forward;
  fftwf_plan back;
  float* evidence; ///< Sum for each delay of the negative log probability in noise
  float* spare;
  double clicks; ///< Number of clicks in it, with the decay
};

void
sr_click_arrival_del(SrClickArrival* const a)
{
  if (a) {
    if (a->forward) {
      fftwf_destroy_plan(a->forward);
    }
    if (a->back) {
      fftwf_destroy_plan(a->back);
    }
    fftwf_free(a->sounds[0].spectrum);
    fftwf_free(a->sounds[1].spectrum);
    fftwf_free(a->input);
    fftwf_free(a->spectrum);
    fftwf_free(a->filtered);
    fftwf_free(a->matched);
    free(a->evidence);
    free(a->spare);
    free(a);
  }
}

static void
take_sound(SrClickArrival* const a, Sound* const sound, const float* const samples)
{
  memset(a->input, 0, a->size * sizeof(float));
  memcpy(a->input, samples, sound->count * sizeof(float));
  fftwf_execute(a->forward);
  const size_t bins = a->size / 2;
  float most = 0.0f;
  for (size_t i = 1; i < bins; ++i) {
    const fftwf_complex* const x = (const fftwf_complex*)&a->spectrum[i];
    most = fmaxf(most, (*x)[0] * (*x)[0] + (*x)[1] * (*x)[1]);
  }
  size_t used = 0;
  double energy = 0.0;
  for (size_t i = 0; i < bins; ++i) {
    const float re = a->spectrum[i][0];
    const float im = a->spectrum[i][1];
    const float power = re * re + im * im;
    const bool in_band = i > 0 && power > CLICK_ARRIVAL_BAND_SHARE * most;
    sound->spectrum[i][0] = in_band ? re : 0.0f;
    sound->spectrum[i][1] = in_band ? -im : 0.0f;
    used += in_band ? 1 : 0;
    energy += in_band ? (double)power : 0.0;
  }
  sound->energy = (float)(energy / (double)a->size);
  sound->freedoms = fmax(3.0, (double)used / (double)a->size * (double)sound->count);
}

SrClickArrival*
sr_click_arrival_new(const double rate_hz, const float* const sounds[2], const size_t counts[2],
                     const size_t lags, const double period)
{
  SrClickArrival* const a = (SrClickArrival*)calloc(1, sizeof(SrClickArrival));
  if (!a) {
    return NULL;
  }
  const size_t longest = counts[0] > counts[1] ? counts[0] : counts[1];
  a->lags = lags;
  a->rate_hz = rate_hz;
  a->period = period;
  a->fade = (size_t)(FADE_S * rate_hz);
  a->window = lags + longest + 2 * a->fade;
  a->size = sr_transform_size(a->window);
  a->input = fftwf_alloc_real(a->size);
  a->spectrum = fftwf_alloc_complex(a->size / 2 + 1);
  a->filtered = fftwf_alloc_complex(a->size);
  a->matched = fftwf_alloc_complex(a->size);
  a->evidence = (float*)calloc(lags, sizeof(float));
  a->spare = (float*)calloc(lags, sizeof(float));
  bool enough = a->input && a->spectrum && a->filtered && a->matched && a->evidence && a->spare;
  for (size_t s = 0; s < 2; ++s) {
    a->sounds[s].count = counts[s];
    a->sounds[s].spectrum = fftwf_alloc_complex(a->size / 2 + 1);
    enough = enough && a->sounds[s].spectrum;
  }
  if (enough) {
    a->forward = sr_transform_plan(a->size, a->input, a->spectrum);
    a->back = sr_transform_plan_complex(a->size, a->filtered, a->filtered, FFTW_BACKWARD);
  }
  if (!a->forward || !a->back) {
    sr_click_arrival_del(a);
    return NULL;
  }
  take_sound(a, &a->sounds[0], sounds[0]);
  take_sound(a, &a->sounds[1], sounds[1]);
  return a;
}

size_t
sr_click_arrival_window(const SrClickArrival* const a)
{
  return a->window;
}

size_t
sr_click_arrival_lead(const SrClickArrival* const a)
{
  return a->fade;
}

void
sr_click_arrival_reset(SrClickArrival* const a)
{
  memset(a->evidence, 0, a->lags * sizeof(float));
  a->clicks = 0.0;
}

/// The input with all bins equally strong (phase transform, Knapp and Carter 1976): steady reeds
/// are lines, and become a few bins among thousands.
static void
whiten(SrClickArrival* const a, const float* const samples)
{
  memset(a->input, 0, a->size * sizeof(float));
  memcpy(a->input, samples, a->window * sizeof(float));
  for (size_t i = 0; i < a->fade; ++i) {
    const float part = (float)(0.5 - 0.5 * cos(M_PI * ((double)i + 0.5) / (double)a->fade));
    a->input[i] *= part;
    a->input[a->window - 1 - i] *= part;
  }
  fftwf_execute(a->forward);
  for (size_t i = 0; i < a->size / 2; ++i) {
    const float re = a->spectrum[i][0];
    const float im = a->spectrum[i][1];
    const float size = sqrtf(re * re + im * im);
    const float scale = size > 1e-12f ? 1.0f / size : 0.0f;
    a->spectrum[i][0] = scale * re;
    a->spectrum[i][1] = scale * im;
  }
}

/// The analytic signal of the whitened input in a sound's band, and its matched filter output.
static void
match(SrClickArrival* const a, const Sound* const sound)
{
  memset(a->filtered, 0, a->size * sizeof(fftwf_complex));
  memset(a->matched, 0, a->size * sizeof(fftwf_complex));
  const float scale = 1.0f / (float)a->size;
  for (size_t i = 1; i < a->size / 2; ++i) {
    const float xr = sound->spectrum[i][0];
    const float xi = sound->spectrum[i][1];
    if (xr != 0.0f || xi != 0.0f) {
      const float re = scale * a->spectrum[i][0];
      const float im = scale * a->spectrum[i][1];
      a->filtered[i][0] = re;
      a->filtered[i][1] = im;
      a->matched[i][0] = re * xr - im * xi;
      a->matched[i][1] = re * xi + im * xr;
    }
  }
  fftwf_execute(a->back);
  fftwf_execute_dft(a->back, a->matched, a->matched);
}

/// Spread the evidence over the delays that clock drift may have moved it to.
static void
spread_evidence(SrClickArrival* const a)
{
  const size_t reach = (size_t)ceil(DRIFT * a->period);
  memcpy(a->spare, a->evidence, a->lags * sizeof(float));
  for (size_t i = 0; i < a->lags; ++i) {
    const size_t from = i > reach ? i - reach : 0;
    const size_t to = i + reach < a->lags ? i + reach : a->lags - 1;
    float most = 0.0f;
    for (size_t j = from; j <= to; ++j) {
      most = sr_larger(a->spare[j], most);
    }
    a->evidence[i] = (float)KEEP * most;
  }
}

/// Probability that the sum of `clicks` exponential variables exceeds `sum` (Erlang).
static double
chance_over(const double sum, const double clicks)
{
  double term = 1.0;
  double total = 0.0;
  for (int i = 0; i < (int)ceil(clicks - 1e-9); ++i) {
    total += term;
    term *= sum / (i + 1);
  }
  return exp(-sum) * total;
}

static double
between_lags(const SrClickArrival* const a, const size_t best)
{
  if (best == 0 || best + 1 >= a->lags) {
    return (double)best;
  }
  double power[3];
  for (size_t i = 0; i < 3; ++i) {
    const float* const c = a->matched[a->fade + best + i - 1];
    power[i] = (double)(c[0] * c[0] + c[1] * c[1]);
  }
  const double bend = power[0] - 2.0 * power[1] + power[2];
  const double shift = bend < 0.0 ? 0.5 * (power[0] - power[2]) / bend : 0.0;
  return (double)best + fmin(0.5, fmax(-0.5, shift));
}

bool
sr_click_arrival_add(SrClickArrival* const a, const float* const samples, const bool accent,
                     double* const lag)
{
  const Sound* const sound = &a->sounds[accent ? 1 : 0];
  whiten(a, samples);
  match(a, sound);
  spread_evidence(a);
  a->clicks = KEEP * a->clicks + 1.0;
  double local = 0.0;
  for (size_t i = 0; i + 1 < sound->count; ++i) {
    const float* const u = a->filtered[a->fade + i];
    local += (double)(u[0] * u[0] + u[1] * u[1]);
  }
  size_t best = 0;
  for (size_t i = 0; i < a->lags; ++i) {
    const float* const in = a->filtered[a->fade + i + sound->count - 1];
    const float* const out = a->filtered[a->fade + i];
    const float* const c = a->matched[a->fade + i];
    local += (double)(in[0] * in[0] + in[1] * in[1]);
    // The share of the energy that matches: any short loud sound has energy, but does not match
    const double power = (double)(c[0] * c[0] + c[1] * c[1]);
    const double share = power / ((double)sound->energy * fmax(local, 1e-20));
    a->evidence[i] += (float)(-(sound->freedoms - 1.0) * log(1.0 - fmin(share, 0.999)));
    local -= (double)(out[0] * out[0] + out[1] * out[1]);
    best = a->evidence[i] > a->evidence[best] ? i : best;
  }
  // Of delays that are periods apart, the first: before the first click there was none
  const size_t limit = best > (size_t)(0.8 * a->period) ? best - (size_t)(0.8 * a->period) : 0;
  size_t earlier = 0;
  for (size_t i = 1; i < limit; ++i) {
    earlier = a->evidence[i] > a->evidence[earlier] ? i : earlier;
  }
  if (limit > 0 && a->evidence[earlier] > EARLIER_SHARE * a->evidence[best]) {
    best = earlier;
  }
  *lag = between_lags(a, best);
  const double cells = (double)a->lags / (double)sound->count * sound->freedoms;
  return chance_over((double)a->evidence[best], a->clicks) * cells < CHANCE;
}
