// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file air_run.c
   Clothes and creaks crackle, knocks are short, voices and thumps lie low; air is smooth (the
   kurtosis of Gaussian noise is 3), lasts, and has its share above 4.4 kHz. The fewer windows show
   it, the more evidence is needed. What is long and smooth beyond doubt is air whatever else
   sounds. The envelope, in steps of 7 ms, is that of the window without its harmonics, transformed
   back.

   The limits were set on labelled runs of takes 0 to 39 and 100 to 139 of each kind in
   tests/accuracy, with windows that began with the take.
*/

#include "air_run.h"

#include "tuning.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const size_t SR_AIR_GROUP_EDGES[SR_AIR_GROUPS + 1] = {9, 14, 18, 22};

/// Least evidence by number of windows: the fewer, the more.
static const struct {
  double windows; ///< Up to this many
  double evidence;
} LEAST_EVIDENCE[] = {{2.0, 5.0}, {3.0, 2.9}, {FEW, 2.0}, {6.0, 1.6}, {INFINITY, 1.2}};

/// Limits and envelope of a run.
typedef struct {
  double start_s;
  double end_s;
  double power; ///< Mean
  double rough; ///< Deviation from the mean, as a share of it
} Course;

/// Sum over the bands in which air is measured: 0.5 to 10 kHz.
double
sr_air_reported(const float* const bands)
{
  double sum = 0.0;
  for (size_t b = SR_AIR_FIRST_BAND; b < SR_AIR_LAST_BAND; ++b) {
    sum += (double)bands[b];
  }
  // The last critical band only up to 10 kHz
  return sum + 0.2 * (double)bands[SR_AIR_LAST_BAND];
}

void
sr_air_run_open(SrAirRun* const run, const double hop_s, const double time_s, const bool spoilt)
{
  memset(run, 0, sizeof(*run));
  run->open = true;
  run->first =
      (int64_t)floor((time_s - 0.5 * SR_INTER_HARMONIC_WINDOW_S) * SR_AIR_HOP_BLOCKS / hop_s);
  run->spoilt = spoilt;
}

SrAirPiece
sr_air_piece(SrInterHarmonic* const between, const double rate_hz, const double hop_s,
             const double time_s)
{
  const size_t size = sr_inter_harmonic_size(between);
  const double start_s = time_s - 0.5 * (double)size / rate_hz;
  const float* const rest = sr_inter_harmonic_rest(between);
  const float* const window = sr_inter_harmonic_window(between);
  float all = 0.0f;
  float shape = 0.0f;
  for (size_t n = 0; n < size; ++n) {
    all += rest[n] * rest[n];
    shape += window[n] * window[n];
  }
  // The ends of the Hann window carry little information
  const size_t first = size / 5;
  const double step = SR_AIR_HOP_BLOCKS / (rate_hz * hop_s);
  const double begin = start_s * SR_AIR_HOP_BLOCKS / hop_s;
  SrAirPiece piece = {.first = (int64_t)floor(begin + (double)first * step)};
  if (!(all > 0.0f)) {
    return piece;
  }
  const float scale = shape / all;
  const float length = (float)(AIR_RUN_SMOOTH_S * rate_hz);
  float squares = 0.0f;
  float fourths = 0.0f;
  float samples = 0.0f;
  for (size_t n = first; n < size - first; ++n) {
    const size_t at = (size_t)(begin + (double)n * step - (double)piece.first);
    if (at < SR_AIR_PIECE_BLOCKS) {
      const float shaped = rest[n] * rest[n];
      const float shapes = window[n] * window[n];
      piece.power[at] += scale * shaped;
      piece.weight[at] += shapes;
      const float x = shaped / shapes;
      squares += x;
      fourths += x * x;
      samples += 1.0f;
      if (samples >= length) {
        // Weighted by power, so that loud pieces count most
        piece.peaked += (double)(fourths * length / (squares + 1e-20f));
        piece.squares += (double)squares;
        squares = 0.0f;
        fourths = 0.0f;
        samples = 0.0f;
      }
    }
  }
  return piece;
}

/// Add the noise envelope of a window.
static void
add_course(SrAirRun* const run, const SrAirPiece* const piece, const double noise,
           const double expected)
{
  for (size_t i = 0; i < SR_AIR_PIECE_BLOCKS; ++i) {
    const int64_t at = piece->first + (int64_t)i - run->first;
    if (at >= 0 && at < (int64_t)SR_AIR_BLOCKS) {
      run->course[at] += (float)noise * piece->power[i] - (float)expected * piece->weight[i];
      run->weight[at] += piece->weight[i];
    }
  }
  run->peaked += piece->peaked;
  run->squares += piece->squares;
}

void
sr_air_run_add(SrAirRun* const run, const SrAirWindow* const window, const SrAirPiece* const piece,
               const double reference, const SrInterHarmonicMeasure* const measure,
               const float* const expected)
{
  const float weight = (float)window->weight;
  run->last_flagged_s = window->time_s;
  run->last_pitch = window->note ? window->pitch : SR_PITCHES;
  run->windows += window->weight;
  run->brief = run->brief || window->weight < 1.0;
  run->pitch_windows[run->last_pitch] += window->weight;
  run->reference += window->weight * reference;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    run->hiss[b] += weight * (measure->noise[b] - expected[b]);
    run->noise[b] += weight * expected[b];
    run->tone[b] += weight * measure->tone[b];
    run->place[b] += weight * measure->tone[b] * measure->place[b];
  }
  const double noise = sr_air_reported(measure->noise);
  const double usual = sr_air_reported(expected);
  run->last = noise - usual;
  run->most = fmax(run->most, run->last);
  run->missed = 0.0;
  add_course(run, piece, noise, usual);
}

bool
sr_air_run_is_another(const SrAirRun* const run, const SrAirWindow* const window, const double hiss)
{
  const bool other_note = window->note && window->pitch != run->last_pitch && !window->doubled;
  return window->time_s - run->last_flagged_s > 0.5 * SR_INTER_HARMONIC_WINDOW_S &&
         (other_note || hiss > UNLIKE * run->most || UNLIKE * hiss < run->most);
}

static float
course_at(const SrAirRun* const run, const size_t block)
{
  return run->weight[block] > 0.0f ? run->course[block] / run->weight[block] : -1.0f;
}

static int
by_value(const void* const a, const void* const b)
{
  const float x = *(const float*)a;
  const float y = *(const float*)b;
  return (x > y) - (x < y);
}

/// Measure a run's limits and envelope; false if impossible.
static bool
measure_course(const SrAirRun* const run, const double hop_s, Course* const measured)
{
  float smooth[SR_AIR_BLOCKS];
  float sorted[SR_AIR_BLOCKS];
  size_t place[SR_AIR_BLOCKS];
  size_t count = 0;
  for (size_t i = 0; i < SR_AIR_BLOCKS; ++i) {
    if (run->weight[i] > 0.0f) {
      float sum = 0.0f;
      float blocks = 0.0f;
      for (size_t j = i > 0 ? i - 1 : 0; j <= i + 1 && j < SR_AIR_BLOCKS; ++j) {
        sum += run->weight[j] > 0.0f ? course_at(run, j) : 0.0f;
        blocks += run->weight[j] > 0.0f ? 1.0f : 0.0f;
      }
      smooth[count] = sum / blocks;
      place[count] = i;
      sorted[count] = smooth[count];
      ++count;
    }
  }
  if (count < 3) {
    return false;
  }
  qsort(sorted, count, sizeof(*sorted), by_value);
  const float edge = EDGE_SHARE * sorted[count - 1 - count / 5];
  size_t first = 0;
  size_t last = count - 1;
  while (first < last && smooth[first] < edge) {
    ++first;
  }
  while (last > first && smooth[last] < edge) {
    --last;
  }
  const double block_s = hop_s / SR_AIR_HOP_BLOCKS;
  measured->start_s = block_s * (double)(run->first + (int64_t)place[first]);
  measured->end_s = block_s * (double)(run->first + (int64_t)place[last] + 1);
  double sum = 0.0;
  double squares = 0.0;
  for (size_t i = first; i <= last; ++i) {
    sum += (double)smooth[i];
    squares += (double)(smooth[i] * smooth[i]);
  }
  const double mean = sum / (double)(last - first + 1);
  measured->power = mean;
  measured->rough = mean > 0.0
                        ? sqrt(fmax(0.0, squares / (double)(last - first + 1) - mean * mean)) / mean
                        : (double)INFINITY;
  return mean > 0.0;
}

/// Evidence for a run: excess over expected noise, over all its windows, in the second best group
/// of bands.
static double
evidence(const SrAirRun* const run)
{
  double first = 0.0;
  double second = 0.0;
  for (size_t g = 0; g < SR_AIR_GROUPS; ++g) {
    double hiss = 0.0;
    double noise = 1e-20;
    for (size_t b = SR_AIR_GROUP_EDGES[g]; b < SR_AIR_GROUP_EDGES[g + 1]; ++b) {
      hiss += (double)run->hiss[b];
      noise += (double)run->noise[b];
    }
    const double ratio = hiss / noise;
    second = fmax(second, fmin(ratio, first));
    first = fmax(first, ratio);
  }
  return second;
}

static double
least_evidence(const double windows)
{
  size_t i = 0;
  while (windows > LEAST_EVIDENCE[i].windows) {
    ++i;
  }
  return LEAST_EVIDENCE[i].evidence;
}

/// Whether a run is loud enough, long enough and far enough above the expected noise.
static bool
is_enough(const SrAirRun* const run, const Course* const course, const double over,
          const double hop_s)
{
  const double length_s = course->end_s - course->start_s;
  const double seen_s = run->windows * hop_s;
  const double level = course->power * run->windows / run->reference;
  if (seen_s < LEAST_COVER * length_s || level < LEAST_LEVEL || length_s > MOST_S) {
    return false;
  }
  const bool clear = run->brief && level > ALONE_LEVEL && over > CLEAR_EVIDENCE;
  if (length_s < (clear ? CLEAR_LEAST_S : LEAST_S)) {
    return false;
  }
  if (2.0 * run->pitch_windows[SR_PITCHES] > run->windows) {
    return run->windows >= GAP_WINDOWS && over >= GAP_EVIDENCE;
  }
  const bool few = run->windows < FEW;
  if (few && level < SPARSE_LEVEL && seen_s < AIR_RUN_SPARSE * length_s &&
      over < (seen_s < SPARSER * length_s ? SPARSER_EVIDENCE : SPARSE_EVIDENCE)) {
    return false;
  }
  if (run->windows <= 1.0 && !(level > ALONE_LEVEL && level < MOST_ALONE_LEVEL)) {
    return false;
  }
  return level < MOST_LEVEL && !(few && level < FEW_LEVEL) && over >= least_evidence(run->windows);
}

/// Whether a run sounds like air: smooth, even, and not only low.
static bool
is_smooth(const SrAirRun* const run, const Course* const course, const double over,
          const double kurtosis)
{
  float high = 0.0f;
  for (size_t b = SR_AIR_GROUP_EDGES[SR_AIR_GROUPS - 1]; b < SR_AIR_GROUP_EDGES[SR_AIR_GROUPS];
       ++b) {
    high += run->hiss[b];
  }
  const bool few = run->windows < FEW;
  // A long, clear release is measured well and need not be as smooth as ideal noise
  const bool plain = run->windows >= SURE_WINDOWS && over > PLAIN_EVIDENCE;
  return kurtosis <=
             (plain ? PLAIN_CRACKLING : CRACKLING) + CRACKLING_SPREAD / sqrt(run->windows) &&
         (double)high >= (few ? FEW_HIGH : LEAST_HIGH) * sr_air_reported(run->hiss) &&
         course->rough <= ROUGH;
}

static void
report(const SrAirRun* const run, const Course* const course, SrAirHeard* const heard)
{
  size_t pitch = 0;
  for (size_t p = 1; p <= SR_PITCHES; ++p) {
    pitch = run->pitch_windows[p] > run->pitch_windows[pitch] ? p : pitch;
  }
  const double sum = sr_air_reported(run->hiss) / run->windows;
  memset(heard, 0, sizeof(*heard));
  heard->start_s = course->start_s;
  heard->end_s = course->end_s;
  heard->midi = pitch < SR_PITCHES ? (int)pitch + SR_LOWEST_MIDI : -1;
  heard->note_power = run->reference / run->windows;
  heard->hiss_power = course->power;
  for (size_t b = 0; b < SR_BANDS; ++b) {
    heard->hiss[b] = fmax(0.0, (double)run->hiss[b]) / run->windows * course->power / sum;
    heard->noise[b] = (double)run->noise[b] / run->windows;
    heard->tone[b] = (double)run->tone[b] / run->windows;
    heard->place_hz[b] = run->tone[b] > 0.0f ? (double)(run->place[b] / run->tone[b]) : 0.0;
  }
}

SrAirVerdict
sr_air_run_weigh(const SrAirRun* const run, const double hop_s, SrAirHeard* const heard)
{
  Course course = {0};
  const double kurtosis = run->peaked / (run->squares + 1e-20);
  const double over = evidence(run);
  if (!(run->windows > 0.0) || !measure_course(run, hop_s, &course) ||
      !is_enough(run, &course, over, hop_s) || !is_smooth(run, &course, over, kurtosis) ||
      !(sr_air_reported(run->hiss) > 0.0)) {
    return SR_AIR_NOT;
  }
  const bool sure =
      run->windows >= SURE_WINDOWS && over > SURE_EVIDENCE && kurtosis < SURE_KURTOSIS;
  if (run->spoilt && !sure) {
    return SR_AIR_NOT;
  }
  report(run, &course, heard);
  return sure ? SR_AIR_SURE : SR_AIR_LIKELY;
}
