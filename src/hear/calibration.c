// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file calibration.c
   Calibration, first pass: learns the instrument from long spectra of a whole take, one note at a
   time. Frames that are explained almost completely by a single steady harmonic series are counted
   by pitch in steps of ten cents, so that memory is bounded and the reference can be decided at the
   end, when all pitches are known.

   The windows are 70 ms long. The phrase says which pitches to expect, so the reference is found
   even where the instrument is half a semitone off; but where all twelve notes are written, it
   cannot be found beyond half a semitone.

   In a doubled take each pitch decides by its own windows which of them were pairs (upper_share(),
   learn_reed()).
*/

#include "decimator.h"
#include "frame.h"
#include "frame_grid_offset.h"
#include "larger.h"
#include "mixture.h"
#include "period.h"
#include "profile.h"
#include "reading_evidence.h"
#include "second_pass.h"
#include "simd.h"
#include "tuning.h"
#include "windowed.h"

#include <steadyreed/hear.h>

#include <fftw3.h>

#include <math.h>
#include <stdint.h>

/// Number of steps.
#define CALIBRATION_STEPS ((SR_PITCHES + 4u) * 10u) // ten in a semitone

typedef struct {
  double frequency;
  double amplitude;
} Peak;

typedef struct {
  double frequency;
  double share;
  float amplitude[SR_HARMONICS];
} Series;

typedef struct {
  double weight;
  double notes; ///< Runs of windows in which YIN finds its period too
  double cents; ///< Sum over windows of the distance from the step's middle
  float amplitude[SR_HARMONICS];
} Step;

/// Windows in a step, and their mean position.
typedef struct {
  double weight;
  double cents; ///< As in Step
} Place;

/// What a series may be by its harmonics: one reed, two an octave apart, or either.
typedef enum { SINGLE, EITHER, PAIR, FORMS } Form;

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
  Step steps[FORMS][CALIBRATION_STEPS];
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
      s->plan = fftwf_plan_dft_r2c_1d((int)s->window, s->input, s->output, FFTW_ESTIMATE);
    }
  }
  if (!s->decimator || !s->framer || !s->period || !s->mixture || !s->short_frame || !s->shape ||
      !s->samples || !s->magnitude || !s->kept || !s->plan) {
    sr_calibration_del(s);
    return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to listen.");
  }
  for (size_t n = 0; n < s->window; ++n) {
    s->shape[n] = (float)((0.5 - 0.5 * cos(2.0 * M_PI * ((double)n + 0.5) / (double)s->window)) *
                          4.0 / (double)s->window);
  }
  for (size_t i = 0; i < SR_FLOOR_POINTS; ++i) {
    const double place = (double)i * SR_FLOOR_STEP_HZ / s->grid.bin_hz - (double)s->grid.first_bin;
    s->floor_bin[i] = (size_t)lround(fmin(fmax(place, 0.0), (double)s->grid.bins - 1.0));
  }
  *calibration = s;
  return SR_OK;
}

/// The strongest peaks of the long spectrum, by frequency; Gaussian interpolation (Gasior and
/// Gonzalez 2004).
static size_t
find_peaks(const SrCalibration* const s, Peak* const peaks)
{
  const float* const m = s->magnitude;
  const size_t low = (size_t)(80.0 / s->bin_hz);
  const size_t high = (size_t)(SR_FRAME_HIGH_HZ / s->bin_hz);
  float top = 0.0f;
  for (size_t b = low; b < high; ++b) {
    top = m[b] > top ? m[b] : top;
  }
  size_t count = 0;
  for (size_t b = low; b < high; ++b) {
    if (m[b] > m[b - 1] && m[b] >= m[b + 1] && m[b] > 0.004f * top && m[b] > 2e-5f) {
      const double l = log((double)m[b - 1] + 1e-12);
      const double c = log((double)m[b] + 1e-12);
      const double r = log((double)m[b + 1] + 1e-12);
      const double bend = l - 2.0 * c + r;
      const double delta = bend < 0.0 ? 0.5 * (l - r) / bend : 0.0;
      const Peak peak = {((double)b + delta) * s->bin_hz, exp(c - 0.25 * (l - r) * delta)};
      if (count < PEAKS) {
        peaks[count++] = peak;
      } else {
        size_t weakest = 0;
        for (size_t i = 1; i < PEAKS; ++i) {
          weakest = peaks[i].amplitude < peaks[weakest].amplitude ? i : weakest;
        }
        if (peak.amplitude > peaks[weakest].amplitude) {
          for (size_t i = weakest; i + 1 < PEAKS; ++i) {
            peaks[i] = peaks[i + 1];
          }
          peaks[PEAKS - 1] = peak;
        }
      }
    }
  }
  return count;
}

/// How well a fundamental explains the peaks; also refines it and collects its harmonics.
static double
explain(const Peak* const peaks, const size_t count, const double f0, Series* const series)
{
  double total = 0.0;
  double matched = 0.0;
  double frequency_sum = 0.0;
  double weight_sum = 0.0;
  double strongest = 0.0;
  memset(series, 0, sizeof(*series));
  for (size_t i = 0; i < count; ++i) {
    total += peaks[i].amplitude;
    const double number = peaks[i].frequency / f0;
    const double k = round(number);
    if (k < 1.0 || k > (double)SR_HARMONICS || fabs(number - k) > 0.012 * k + 0.01 ||
        fabs(number - k) > 0.15) {
      continue;
    }
    const size_t index = (size_t)k - 1;
    if (peaks[i].amplitude > (double)series->amplitude[index]) {
      series->amplitude[index] = (float)peaks[i].amplitude;
    }
    matched += peaks[i].amplitude;
    frequency_sum += peaks[i].amplitude * peaks[i].frequency;
    weight_sum += peaks[i].amplitude * k;
    strongest = fmax(strongest, peaks[i].amplitude);
  }
  if (!(matched > 0.0)) {
    return 0.0;
  }
  series->frequency = frequency_sum / weight_sum;
  series->share = matched / total;
  size_t present = 0;
  size_t wanted = 0;
  for (size_t k = 0; k < 6 && f0 * (double)(k + 1) < SR_FRAME_HIGH_HZ - 100.0; ++k) {
    ++wanted;
    present += (double)series->amplitude[k] > 0.008 * strongest;
  }
  return wanted ? series->share * (0.4 + 0.6 * (double)present / (double)wanted) : 0.0;
}

static bool
find_series(const SrCalibration* const s, Series* const best)
{
  Peak peaks[PEAKS];
  const size_t count = find_peaks(s, peaks);
  double top = 0.0;
  for (size_t i = 0; i < count; ++i) {
    top = fmax(top, peaks[i].amplitude);
  }
  double most = 0.0;
  for (size_t i = 0; i < count; ++i) {
    if (peaks[i].amplitude < 0.45 * top) {
      continue;
    }
    for (int divisor = 1; divisor <= 6; ++divisor) {
      const double f0 = peaks[i].frequency / divisor;
      if (f0 < 90.0 || f0 > 2200.0) {
        continue;
      }
      Series series;
      const double score = explain(peaks, count, f0, &series);
      if (score > most + 1e-9) {
        most = score;
        *best = series;
      }
    }
  }
  return most > 0.0;
}

static double
cents_between(const double a, const double b)
{
  return 1200.0 * log2(a / b);
}

/// Add a series to the step of its pitch.
static void
add_series(SrCalibration* const s, const Form form, const double frequency,
           const float* const amplitude, const bool new_note)
{
  const double midi = 69.0 + cents_between(frequency, 440.0) / 100.0;
  const double place = (midi - FIRST_MIDI) * 100.0 / STEP_CENTS;
  if (place < 0.0 || place >= (double)CALIBRATION_STEPS - 1.0) {
    return;
  }
  Step* const step = &s->steps[form][(size_t)place];
  double sum = 0.0;
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    sum += (double)amplitude[k];
  }
  if (!(sum > 0.0)) {
    return;
  }
  step->weight += 1.0;
  step->notes += new_note;
  step->cents += (place - floor(place) - 0.5) * STEP_CENTS;
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    step->amplitude[k] += (float)((double)amplitude[k] / sum);
  }
}

static bool
is_expected(const SrCalibration* const s, const int midi)
{
  return midi >= 0 && midi < 128 && s->expected.expected[midi];
}

/**
   How much a series looks like a melody note with its octave below: the odd harmonics belong to the
   lower reed alone, and its even ones are interpolated between them; the rest of the even ones
   belongs to the upper reed.

   @return That rest, as a share of the even ones.
*/
static double
upper_share(const Series* const series)
{
  double upper = 0.0;
  double sum = 0.0;
  for (size_t k = 1; k < SR_HARMONICS; k += 2) {
    const double before = (double)series->amplitude[k - 1];
    const double behind = k + 1 < SR_HARMONICS ? (double)series->amplitude[k + 1] : 0.0;
    const double both = (double)series->amplitude[k];
    upper += sqrt(fmax(0.0, both * both - before * behind));
    sum += both;
  }
  return sum > 0.0 ? upper / sum : 0.0;
}

/// Whether YIN finds this period in the window, or that of the octave above, as it does if even
/// harmonics are strong.
static bool
is_confirmed(const SrCalibration* const s, const double frequency)
{
  const double hz = sr_period_hz(s->period, s->samples);
  return hz > 0.0 && (fabs(cents_between(hz, frequency)) < SAME_PERIOD_CENTS ||
                      fabs(cents_between(hz, 2.0 * frequency)) < SAME_PERIOD_CENTS);
}

static void
count_series(SrCalibration* const s, const Series* const series)
{
  const double upper = upper_share(series);
  const bool new_note = !s->confirmed && is_confirmed(s, series->frequency);
  s->confirmed = s->confirmed || new_note;
  ++s->series_count;
  add_series(s,
             upper > SURELY_OCTAVE ? PAIR
             : upper > LIKE_OCTAVE ? EITHER
                                   : SINGLE,
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
look_at_window(SrCalibration* const s, Series* const series)
{
  sr_windowed(s->samples, s->shape, s->window, s->input);
  fftwf_execute(s->plan);
  sr_magnitudes(s->output, s->window / 2 + 1, s->magnitude);
  memset(series, 0, sizeof(*series));
  const bool found = find_series(s, series) && series->share > ALONE_SHARE;
  s->alone_hz = found ? series->frequency : 0.0;
  return found;
}

/// Learn from an analysed window; `series` is NULL if none was alone.
static void
learn_from_window(SrCalibration* const s, const Series* const series)
{
  if (series && s->last_frequency > 0.0 &&
      fabs(cents_between(series->frequency, s->last_frequency)) < STEADY_CENTS) {
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
      Series series;
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

/// Sums of a step over all forms.
static Place
place_at(const SrCalibration* const s, const size_t i)
{
  Place sum = {0};
  for (Form f = SINGLE; f < FORMS; ++f) {
    sum.weight += s->steps[f][i].weight;
    sum.cents += s->steps[f][i].cents;
  }
  return sum;
}

/// How well the pitches heard fit the phrase if the reference is `shift` cents from 440 Hz.
static double
fit_shift(const SrCalibration* const s, const SrReading reading, const int shift)
{
  const bool doubled = reading == SR_READ_DOUBLED;
  double score = 0.0;
  for (size_t i = 0; i < CALIBRATION_STEPS; ++i) {
    const Place step = place_at(s, i);
    if (!(step.weight > 0.0)) {
      continue;
    }
    const double cents = ((double)i + 0.5) * STEP_CENTS + step.cents / step.weight - shift;
    const double midi = FIRST_MIDI + cents / 100.0;
    const int nearest = (int)lround(midi);
    const double off = (midi - nearest) * 100.0 / 18.0;
    const bool written =
        !s->expected.any || is_expected(s, nearest) || (doubled && is_expected(s, nearest + 12));
    score += fmin(step.weight, 40.0) * exp(-0.5 * off * off) * (written ? 1.0 : 0.25);
  }
  return score * (1.0 - 0.0015 * abs(shift));
}

/// Sum the steps near a pitch, form by form, with cents relative to that pitch.
static void
gather_steps(const SrCalibration* const s, const int midi, const double shift, Step gathered[FORMS])
{
  memset(gathered, 0, FORMS * sizeof(Step));
  for (Form f = SINGLE; f < FORMS; ++f) {
    for (size_t i = 0; i < CALIBRATION_STEPS; ++i) {
      const Step* const step = &s->steps[f][i];
      const double at = ((double)i + 0.5) * STEP_CENTS - shift;
      const double off =
          at + step->cents / step->weight - (double)(midi - FIRST_MIDI) * 100.0; // NAN without any
      if (fabs(off) < NEAR_CENTS) {
        gathered[f].weight += step->weight;
        gathered[f].cents += step->weight * off;
        for (size_t k = 0; k < SR_HARMONICS; ++k) {
          gathered[f].amplitude[k] += step->amplitude[k];
        }
      }
    }
  }
}

/**
   Learn a reed from the steps near a pitch.

   @param p     The reed.
   @param below Semitones below it at which to look: 12 if it sounds with its octave below, whose
                series then includes both.
   @param form  Form of the series to use; FORMS for any. Ambiguous ones are counted with the
                majority of their pitch.
   @return Whether it was heard long enough.
*/
static bool
learn_reed(const SrCalibration* const s, SrProfile* const profile, const size_t p, const int below,
           const Form form, const double shift)
{
  SrReed reed = {0};
  double weight = 0.0;
  double cents = 0.0;
  double amplitude[SR_HARMONICS] = {0};
  Step heard[FORMS];
  gather_steps(s, SR_LOWEST_MIDI + (int)p - below, shift, heard);
  const bool singles = heard[SINGLE].weight >= ALONE_WEIGHT;
  const bool pairs = heard[PAIR].weight >= LEAST_WEIGHT;
  const Form either = singles && pairs ? EITHER : pairs ? SINGLE : PAIR;
  for (Form f = SINGLE; f < FORMS; ++f) {
    if (form == FORMS || form == (f == EITHER ? either : f)) {
      weight += heard[f].weight;
      cents += heard[f].cents;
      for (size_t k = 0; k < SR_HARMONICS; ++k) {
        amplitude[k] += (double)heard[f].amplitude[k];
      }
    }
  }
  const bool written = !s->expected.any || s->expected.expected[p + SR_LOWEST_MIDI];
  const double least = form == SINGLE ? ALONE_WEIGHT : LEAST_WEIGHT;
  if (weight < (written ? least : UNWRITTEN_WEIGHT)) {
    return false;
  }
  reed.learnt = true;
  reed.doubled = below == 12;
  reed.cents = (float)(cents / weight);
  reed.weight = (float)(weight * HOP_S);
  for (size_t k = 0; k < SR_HARMONICS; ++k) {
    reed.amplitude[k] = (float)(amplitude[k] / weight);
  }
  profile->reeds[p] = reed;
  return true;
}

/// Learn all reeds; the written ones with their octaves if the take doubles notes.
static void
learn_reeds(const SrCalibration* const s, SrProfile* const profile, const double shift)
{
  for (size_t p = 0; p < SR_PITCHES; ++p) {
    if (!profile->doubled) {
      learn_reed(s, profile, p, 0, FORMS, shift);
      continue;
    }
    const int midi = SR_LOWEST_MIDI + (int)p;
    const bool written = is_expected(s, midi);
    const bool is_lower = p + 12 < SR_PITCHES && is_expected(s, midi + 12);
    // If the lower note is written too, what sounds there may be either
    const Form pairs = is_expected(s, midi - 12) ? PAIR : FORMS;
    if (written && p >= 12 && learn_reed(s, profile, p, 12, pairs, shift)) {
      continue;
    }
    if (!is_lower) {
      learn_reed(s, profile, p, 0, FORMS, shift);
    } else if (written) {
      learn_reed(s, profile, p, 0, SINGLE, shift);
    }
  }
}

/// The shift at which the pitches heard fit the phrase best, cents.
static int
find_shift(const SrCalibration* const s, const SrReading reading)
{
  int best = 0;
  double most = fit_shift(s, reading, 0);
  for (int shift = -MOST_SHIFT; shift <= MOST_SHIFT; ++shift) {
    const double score = fit_shift(s, reading, shift);
    if (score > most) {
      most = score;
      best = shift;
    }
  }
  return best;
}

/// Log-likelihood of the pitches heard in a reading, nats.
static double
likelihood(const SrCalibration* const s, const SrReading reading)
{
  const int shift = find_shift(s, reading);
  double sum = 0.0;
  for (size_t i = 0; i < CALIBRATION_STEPS; ++i) {
    const Place step = place_at(s, i);
    double notes = 0.0;
    for (Form f = SINGLE; f < FORMS; ++f) {
      notes += s->steps[f][i].notes;
    }
    if (notes > 0.0) {
      const double cents = ((double)i + 0.5) * STEP_CENTS + step.cents / step.weight - shift;
      const double density = sr_reading_density(&s->expected, reading, FIRST_MIDI + cents / 100.0);
      const double singles = reading == SR_READ_DOUBLED ? s->steps[SINGLE][i].notes : 0.0;
      sum += notes * log(density) - SINGLE_NATS * singles;
    }
  }
  return sum;
}

double
sr_calibration_doubled_nats(const SrCalibration* const s)
{
  return s->expected.any ? likelihood(s, SR_READ_DOUBLED) - likelihood(s, SR_READ_SINGLE)
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
  const int best = find_shift(s, reading);
  double sum = 0.0;
  double count = 0.0;
  (*profile)->doubled = reading == SR_READ_DOUBLED;
  learn_reeds(s, *profile, best);
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
