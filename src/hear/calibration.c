// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file calibration.c
   Calibration, first pass: learns the instrument from long spectra of a whole take, one note at a
   time. Frames that are explained almost completely by a single steady harmonic series (series.h)
   are counted by pitch in steps of ten cents (heard_pitches.h), so that memory is bounded and the
   reference can be decided at the end, when all pitches are known.

   The windows are 70 ms long. The phrase says which pitches to expect, so the reference is found
   even where the instrument is half a semitone off; but where all twelve notes are written, it
   cannot be found beyond half a semitone.

   In a doubled take each pitch decides by its own windows which of them were pairs
   (sr_series_upper_share(), learnt_reeds.h).
*/

#include "decimator.h"
#include "frame.h"
#include "frame_grid_offset.h"
#include "heard_pitches.h"
#include "larger.h"
#include "learnt_reeds.h"
#include "mixture.h"
#include "period.h"
#include "profile.h"
#include "second_pass.h"
#include "series.h"
#include "simd.h"
#include "transform_plans.h"
#include "tuning.h"
#include "windowed.h"

#include <steadyreed/hear.h>

#include <fftw3.h>

#include <math.h>
#include <stdint.h>

struct SrCalibrationImpl {
  double rate_hz;
  SrExpected expected;
  SrDecimator* decimator;
  SrFrameGrid grid;
  SrFramer* framer;
  float* short_frame;
  size_t window;
  size_t hop;
  double bin_hz;
  float* shape;
  float* samples; ///< The last `window` samples
  size_t fill;
  size_t skip; ///< Samples still to be skipped for the window grid offset
  uint64_t windows;
  float* input;
  fftwf_complex* output;
  fftwf_plan plan;
  float* magnitude;
  double last_frequency;
  bool watches;    ///< Every window is analysed, even if it is not learnt from
  double alone_hz; ///< Of the last window; 0 if no series was alone
  SrPeriod* period;
  bool confirmed;        ///< YIN has found the same period in the current run of windows
  uint64_t series_count; ///< Windows with one series
  SrMixture* mixture;    ///< Everything that sounded, together or alone
  float* kept;           ///< For the second pass
  size_t kept_count;
  size_t kept_size;
  size_t floor_bin[SR_FLOOR_POINTS]; ///< The nearest bin of the short frames
  float floor[SR_FLOOR_POINTS];      ///< Running low quantile of the short frames
  uint64_t floor_count;
  SrHeardPitches pitches;
};

static size_t
even(const double n)
{
  return (size_t)lround(n / 2.0) * 2;
}

void
sr_calibration_del(SrCalibration* const s)
{
  if (s) {
    sr_decimator_del(s->decimator);
    sr_framer_del(s->framer);
    sr_period_del(s->period);
    sr_mixture_del(s->mixture);
    if (s->plan) {
      fftwf_destroy_plan(s->plan);
    }
    fftwf_free(s->input);
    fftwf_free(s->output);
    free(s->short_frame);
    free(s->shape);
    free(s->samples);
    free(s->magnitude);
    free(s->kept);
    free(s);
  }
}

SrStatus
sr_calibration_new(const double rate_hz, const SrExpected* const expected,
                   SrCalibration** const calibration, SrError* const error)
{
  *calibration = NULL;
  if (!(rate_hz >= SR_LOWEST_RATE_HZ && rate_hz <= SR_HIGHEST_RATE_HZ)) {
    return sr_error_set(error, SR_BAD_ARGUMENT,
                        "The sample rate is %.0f Hz; it must be between %.0f and %.0f Hz.", rate_hz,
                        SR_LOWEST_RATE_HZ, SR_HIGHEST_RATE_HZ);
  }
  SrCalibration* const s = (SrCalibration*)calloc(1, sizeof(SrCalibration));
  if (!s) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  s->rate_hz = rate_hz;
  if (expected) {
    s->expected = *expected;
  }
  s->decimator = sr_decimator_new(rate_hz);
  if (s->decimator) {
    const double rate = sr_decimator_rate_hz(s->decimator);
    s->grid = sr_frame_grid(rate);
    s->framer = sr_framer_new(&s->grid);
    s->window = even(SR_CALIBRATION_WINDOW_S * rate);
    while (s->window % 4 || s->window % 3) {
      s->window += 2;
    }
    s->hop = even(HOP_S * rate);
    s->bin_hz = rate / (double)s->window;
    s->period = sr_period_new(rate, s->window);
    s->mixture = sr_mixture_new(rate, s->window);
    s->short_frame = sr_vector_new(s->grid.padded);
    s->shape = sr_vector_new(s->window);
    s->samples = sr_vector_new(s->window);
    s->magnitude = sr_vector_new(s->window / 2 + 1);
    s->kept_size = (size_t)(SECOND_PASS_S * rate);
    s->kept = (float*)malloc(s->kept_size * sizeof(float));
    s->input = fftwf_alloc_real(s->window);
    s->output = fftwf_alloc_complex(s->window / 2 + 1);
    if (s->input && s->output) {
      s->plan = sr_transform_plan(s->window, s->input, s->output);
    }
  }
  if (!s->decimator || !s->framer || !s->period || !s->mixture || !s->short_frame || !s->shape ||
      !s->samples || !s->magnitude || !s->kept || !s->plan) {
    sr_calibration_del(s);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  for (size_t n = 0; n < s->window; ++n) {
    s->shape[n] = (float)(sr_hann(n, s->window) * 4.0 / (double)s->window);
  }
  for (size_t i = 0; i < SR_FLOOR_POINTS; ++i) {
    const double place = (double)i * SR_FLOOR_STEP_HZ / s->grid.bin_hz - (double)s->grid.first_bin;
    s->floor_bin[i] = (size_t)lround(fmin(fmax(place, 0.0), (double)s->grid.bins - 1.0));
  }
  *calibration = s;
  return SR_OK;
}

/// Whether YIN finds this period in the window, or that of the octave above, as it does if even
/// harmonics are strong.
static bool
is_confirmed(const SrCalibration* const s, const double frequency)
{
  const double hz = sr_period_hz(s->period, s->samples);
  return hz > 0.0 && (fabs(sr_cents_between(hz, frequency)) < SAME_PERIOD_CENTS ||
                      fabs(sr_cents_between(hz, 2.0 * frequency)) < SAME_PERIOD_CENTS);
}

static void
count_series(SrCalibration* const s, const SrSeries* const series)
{
  const double upper = sr_series_upper_share(series);
  const bool new_note = !s->confirmed && is_confirmed(s, series->frequency);
  s->confirmed = s->confirmed || new_note;
  ++s->series_count;
  sr_heard_pitches_add(&s->pitches,
                       upper > SURELY_OCTAVE ? SR_FORM_PAIR
                       : upper > LIKE_OCTAVE ? SR_FORM_EITHER
                                             : SR_FORM_SINGLE,
                       series->frequency, series->amplitude, new_note);
}

/// Track a low quantile of each bin of the short frames: the room without the notes.
static void
follow_floor(SrCalibration* const s)
{
  sr_framer_do(s->framer, s->samples + (s->window - s->grid.window) / 2, s->short_frame);
  const float rate = s->floor_count < 20 ? 0.5f : 0.12f;
  for (size_t i = 0; i < SR_FLOOR_POINTS; ++i) {
    const float value = s->short_frame[s->floor_bin[i]];
    if (s->floor_count == 0) {
      s->floor[i] = value;
    } else if (value > s->floor[i]) {
      s->floor[i] *= 1.0f + 0.10f * rate;
    } else {
      s->floor[i] *= 1.0f - 0.90f * rate;
    }
    s->floor[i] = sr_larger(s->floor[i], 1e-6f);
  }
  ++s->floor_count;
}

/// Find the series that is alone in the window.
static bool
look_at_window(SrCalibration* const s, SrSeries* const series)
{
  sr_windowed(s->samples, s->shape, s->window, s->input);
  fftwf_execute(s->plan);
  sr_magnitudes(s->output, s->window / 2 + 1, s->magnitude);
  memset(series, 0, sizeof(*series));
  const bool found = sr_series_find(s->magnitude, s->bin_hz, series) && series->share > ALONE_SHARE;
  s->alone_hz = found ? series->frequency : 0.0;
  return found;
}

/// Learn from an analysed window; `series` is NULL if none was alone.
static void
learn_from_window(SrCalibration* const s, const SrSeries* const series)
{
  if (series && s->last_frequency > 0.0 &&
      fabs(sr_cents_between(series->frequency, s->last_frequency)) < STEADY_CENTS) {
    count_series(s, series);
  } else {
    s->confirmed = false;
  }
  s->last_frequency = series ? series->frequency : 0.0;
  follow_floor(s);
}

/// Keep samples for the second pass, once a note has been heard.
static void
keep(SrCalibration* const s, const float* const samples, const size_t count)
{
  if (s->kept_count > 0 || s->last_frequency > 0.0) {
    const size_t room = s->kept_size - s->kept_count;
    const size_t step = count < room ? count : room;
    memcpy(s->kept + s->kept_count, samples, step * sizeof(float));
    s->kept_count += step;
  }
}

double
sr_calibration_heard_s(const SrCalibration* const s)
{
  return (double)s->series_count * HOP_S;
}

void
sr_calibration_watch(SrCalibration* const s)
{
  s->watches = true;
}

double
sr_calibration_alone_hz(const SrCalibration* const s)
{
  return s->alone_hz > 0.0 ? s->alone_hz : (double)NAN;
}

uint64_t
sr_calibration_windows(const SrCalibration* const s)
{
  return s->windows;
}

static void
push_decimated(SrCalibration* const s, const float* samples, size_t count)
{
  while (count > 0) {
    const size_t room = s->window - s->fill;
    const size_t step = count < room ? count : room;
    memcpy(s->samples + s->fill, samples, step * sizeof(float));
    s->fill += step;
    keep(s, samples, step);
    samples += step;
    count -= step;
    if (s->fill == s->window) {
      const double at = (double)(s->windows * s->hop) / s->grid.rate_hz;
      const bool dense = at < DENSE_S || sr_calibration_heard_s(s) < ENOUGH_S;
      const bool learns = dense || s->windows % CALIBRATION_SPARSE < IN_A_ROW;
      SrSeries series;
      const bool found = (learns || s->watches) && look_at_window(s, &series);
      if (learns) {
        learn_from_window(s, found ? &series : NULL);
        sr_mixture_put(s->mixture, s->windows, s->magnitude);
      }
      ++s->windows;
      memmove(s->samples, s->samples + s->hop, (s->window - s->hop) * sizeof(float));
      s->fill = s->window - s->hop;
    }
  }
}

void
sr_calibration_align_to(SrCalibration* const s, const int64_t sample)
{
  s->skip =
      sr_frame_grid_offset(sample, CALIBRATION_SPARSE * s->hop * sr_decimator_factor(s->decimator));
}

void
sr_calibration_push(SrCalibration* const s, const float* const samples, const size_t count)
{
  float clean[1024];
  float decimated[2048];
  const size_t skipped = count < s->skip ? count : s->skip;
  s->skip -= skipped;
  for (size_t done = skipped; done < count;) {
    const size_t step = count - done < 1024 ? count - done : 1024;
    for (size_t i = 0; i < step; ++i) {
      clean[i] = isfinite(samples[done + i]) ? samples[done + i] : 0.0f;
    }
    done += step;
    const size_t given = sr_decimator_push(s->decimator, clean, step, decimated);
    push_decimated(s, decimated, given);
  }
}

double
sr_calibration_doubled_nats(const SrCalibration* const s)
{
  return s->expected.any ? sr_heard_pitches_nats(&s->pitches, &s->expected, SR_READ_DOUBLED) -
                               sr_heard_pitches_nats(&s->pitches, &s->expected, SR_READ_SINGLE)
                         : (double)-INFINITY;
}

SrStatus
sr_calibration_finish(SrCalibration* const s, const SrReading reading, SrProfile** const profile,
                      SrError* const error)
{
  *profile = sr_profile_new(440.0);
  if (!*profile) {
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  const int best = sr_heard_pitches_shift(&s->pitches, &s->expected, reading);
  double sum = 0.0;
  double count = 0.0;
  (*profile)->doubled = reading == SR_READ_DOUBLED;
  sr_learn_reeds(&s->pitches, &s->expected, *profile, best);
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if ((*profile)->reeds[p].learnt) {
      sum += (double)(*profile)->reeds[p].cents;
      count += 1.0;
    }
  }
  const double mean = count > 0.0 ? sum / count : 0.0;
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if ((*profile)->reeds[p].learnt) {
      (*profile)->reeds[p].cents -= (float)mean;
    }
  }
  (*profile)->reference_hz = 440.0 * exp2((best + mean) / 1200.0);
  sr_profile_fill(*profile);
  if (s->floor_count > 4) {
    memcpy((*profile)->floor, s->floor, sizeof(s->floor));
  }
  (*profile)->accompanied = reading == SR_READ_ACCOMPANIED;
  SrStatus status =
      (*profile)->accompanied ? sr_mixture_learn(s->mixture, &s->expected, *profile) : SR_OK;
  if (status == SR_OK) {
    status = sr_second_pass(*profile, &s->grid, &s->expected, s->kept, s->kept_count);
  }
  if (status != SR_OK) {
    sr_profile_del(*profile);
    *profile = NULL;
    return sr_error_set(error, status, "There is not enough memory to listen.");
  }
  return SR_OK;
}
