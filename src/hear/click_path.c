// SPDX-License-Identifier: GPL-3.0-or-later

#include "click_path.h"

#include "transform_size.h"
#include "tuning.h"

#include <fftw3.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct SrClickPathImpl {
  size_t size;
  size_t bins;
  size_t window;
  size_t lead;
  size_t before;
  size_t envelope; ///< Samples on each side
  float* taper;    ///< Over a window
  float* support;  ///< Over the response: where it may be non-zero
  float* time;
  float* predicted;
  fftwf_complex* sounds[2];
  fftwf_complex* response;
  fftwf_complex* heard;
  fftwf_complex* model;
  fftwf_complex* left;
  fftwf_complex* last; ///< Whitened residual of the previous click
  float* uncertainty;  ///< Variance of the response, each bin
  float* noise;        ///< Power of other sounds, each bin
  float* power;
  fftwf_plan forward; ///< time to heard
  fftwf_plan back;    ///< left to time
  float first_uncertainty;
  double taper_power;
  double gain;
  double gain_variance;
  unsigned lessons;
};

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
    p->forward = fftwf_plan_dft_r2c_1d((int)p->size, p->time, p->heard, FFTW_ESTIMATE);
    p->back = fftwf_plan_dft_c2r_1d((int)p->size, p->left, p->time, FFTW_ESTIMATE);
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
      const double hann = 0.5 - 0.5 * cos(2.0 * M_PI * ((double)i + 0.5) / (double)count);
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

/// A sound through the response, `late` samples late.
static void
model(const SrClickPath* const p, const fftwf_complex* const response,
      const fftwf_complex* const sound, const double late, fftwf_complex* const result)
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

/// The end of the lead in the transform's time.
static double
place(const SrClickPath* const p, const double fraction)
{
  return (double)p->lead + fraction;
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
  correct(p, sound, place(p, fraction), false);
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
  const double at = place(p, fraction);
  model(p, (const fftwf_complex*)p->response, sound, at, p->model);
  double shift = 0.0;
  if (3.0 * deviation > 0.3) {
    shift = best_shift(p, 3.0 * deviation + 1.0);
    model(p, (const fftwf_complex*)p->response, sound, at + shift, p->model);
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
  model(p, (const fftwf_complex*)p->response, sound, known, p->model);
  leave(p);
  doubt_if_moved(p, sound, known);
  correct(p, sound, known, true);
  tidy(p);
  return lesson;
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
  model(p, (const fftwf_complex*)p->response, sound, place(p, fraction), p->left);
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
