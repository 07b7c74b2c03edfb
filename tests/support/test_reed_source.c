// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_reed_source.c
   What each kind of reed is like, measured and printed; that all are in tune as aubio hears
   them; and that the comb raises even harmonics by what it says.
*/

#include "extent.h"
#include "reed_source.h"

#include <aubio/aubio.h>
#include <fftw3.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define TONE_S 2.8
#define COUNT ((size_t)(TONE_S * SOURCE_RATE_HZ))
/// Where a tone begins in its samples.
#define ONSET_S 0.2
#define WINDOW 65536u

static const int PITCHES[] = {57, 62, 66, 69, 74, 78, 81, 86};
#define PITCH_COUNT (sizeof(PITCHES) / sizeof(PITCHES[0]))

static double
hertz(const int midi)
{
  return 440.0 * exp2((midi - 69) / 12.0);
}

/// One tone alone; NULL if its reeds cannot be had.
static float*
play(const ReedKind kind, const double even_db, const int midi)
{
  ReedSource* const source = reed_source_new(kind, 7, 12.0);
  if (!source) {
    return NULL;
  }
  reed_source_raise_even(source, even_db);
  float* const samples = (float*)calloc(COUNT, sizeof(float));
  reed_source_add(source, samples, COUNT, midi, hertz(midi), ONSET_S, TONE_S, 0.01, 0.1, NULL);
  reed_source_del(source);
  return samples;
}

typedef struct {
  double even_db;
  double hiss_db;
  double beating_db;
  double rise_ms;
} Measures;

/// Even against odd harmonics, and what lies half way between them from 1 to 9 kHz, taken for all
/// of that band, against the tone.
static void
measure_spectrum(const float* const samples, const double f0, Measures* const out)
{
  float* const in = fftwf_alloc_real(WINDOW);
  fftwf_complex* const bins = fftwf_alloc_complex(WINDOW / 2 + 1);
  fftwf_plan const transform = fftwf_plan_dft_r2c_1d(WINDOW, in, bins, FFTW_ESTIMATE);
  const size_t from = (size_t)((ONSET_S + 0.5) * SOURCE_RATE_HZ);
  for (size_t i = 0; i < WINDOW; ++i) {
    in[i] = samples[from + i] * (float)(0.5 - 0.5 * cos(2.0 * M_PI * (double)i / WINDOW));
  }
  fftwf_execute(transform);
  double parts[2] = {0.0, 0.0};
  double between = 0.0;
  for (size_t b = 1; b < WINDOW / 2; ++b) {
    const double hz = (double)b * SOURCE_RATE_HZ / WINDOW;
    const double order = hz / f0;
    const double away = fabs(order - round(order));
    const double power = (double)(bins[b][0] * bins[b][0] + bins[b][1] * bins[b][1]);
    if (away < 0.1 && round(order) >= 1.0) {
      parts[(size_t)round(order) % 2] += power;
    }
    if (away > 0.35 && hz > 1000.0 && hz < 9000.0) {
      between += power / 0.3;
    }
  }
  out->even_db = 10.0 * log10(parts[0] / parts[1]);
  out->hiss_db = 10.0 * log10(between / (parts[0] + parts[1]));
  fftwf_destroy_plan(transform);
  fftwf_free(in);
  fftwf_free(bins);
}

/// Level of a Hann window of so many samples, dB.
static double
level_at(const float* const samples, const size_t from, const size_t window)
{
  double power = 0.0;
  for (size_t i = 0; i < window; ++i) {
    const double weight = 0.5 - 0.5 * cos(2.0 * M_PI * ((double)i + 0.5) / (double)window);
    const double value = (double)samples[from + i] * weight;
    power += value * value;
  }
  return 10.0 * log10(power + 1e-20);
}

/// From the highest to the lowest level in windows of 50 ms, which pass what is under 20 Hz, over
/// two seconds; a tone that dies away steadily does not count as beating.
static double
measure_beating(const float* const samples)
{
  const size_t window = (size_t)(0.050 * SOURCE_RATE_HZ);
  const size_t from = (size_t)((ONSET_S + 0.4) * SOURCE_RATE_HZ);
  double levels[200];
  double slope = 0.0;
  double spread = 0.0;
  for (size_t i = 0; i < 200; ++i) {
    levels[i] = level_at(samples, from + i * (size_t)(0.010 * SOURCE_RATE_HZ), window);
    slope += ((double)i - 99.5) * levels[i];
    spread += ((double)i - 99.5) * ((double)i - 99.5);
  }
  double most = -1e9;
  double least = 1e9;
  for (size_t i = 0; i < 200; ++i) {
    const double level = levels[i] - slope / spread * (double)i;
    most = fmax(most, level);
    least = fmin(least, level);
  }
  return most - least;
}

/// From a tenth to nine tenths of the most that it comes to in a quarter of a second.
static double
measure_rise(const float* const samples, const double f0)
{
  const size_t window = (size_t)(2.0 * SOURCE_RATE_HZ / f0);
  const size_t span = (size_t)((ONSET_S + 0.25) * SOURCE_RATE_HZ);
  double most = -1e9;
  for (size_t i = 0; i < span; i += 8) {
    most = fmax(most, level_at(samples, i, window));
  }
  double tenth = 0.0;
  for (size_t i = 0; i < span; i += 8) {
    const double level = level_at(samples, i, window);
    tenth = level < most - 20.0 ? (double)i : tenth;
    if (level > most + 20.0 * log10(0.9)) {
      return 1000.0 * ((double)i - tenth) / SOURCE_RATE_HZ;
    }
  }
  return (double)NAN;
}

static Measures
measure(const ReedKind kind, const double even_db)
{
  Measures mean = {0};
  for (size_t p = 0; p < PITCH_COUNT; ++p) {
    float* const samples = play(kind, even_db, PITCHES[p]);
    assert_non_null(samples);
    Measures one;
    measure_spectrum(samples, hertz(PITCHES[p]), &one);
    mean.even_db += one.even_db / PITCH_COUNT;
    mean.hiss_db += one.hiss_db / PITCH_COUNT;
    mean.beating_db += measure_beating(samples) / PITCH_COUNT;
    mean.rise_ms += measure_rise(samples, hertz(PITCHES[p])) / PITCH_COUNT;
    free(samples);
  }
  return mean;
}

/// The table of reed_source.h, means over A3 to D6.
static void
kinds_are_described(void** const state)
{
  (void)state;
  printf("reeds            even/odd dB  hiss dB  beating dB  rise ms\n");
  for (int k = 0; k < REED_KINDS; ++k) {
    const Measures m = measure((ReedKind)k, 0.0);
    printf("%-16s %11.1f %8.1f %11.1f %8.0f\n", REED_NAMES[k], m.even_db, m.hiss_db, m.beating_db,
           m.rise_ms);
    assert_true(isfinite(m.even_db) && isfinite(m.hiss_db) && isfinite(m.rise_ms));
  }
}

/// Which it does by 20 log10((1 + g) / (1 - g)).
static void
comb_raises_even_harmonics(void** const state)
{
  (void)state;
  for (int k = 0; k < REED_KINDS; ++k) {
    for (size_t p = 0; p < PITCH_COUNT; p += 2) {
      double even_db[3];
      for (int step = 0; step < 3; ++step) {
        float* const samples = play((ReedKind)k, 4.0 * step, PITCHES[p]);
        Measures one;
        measure_spectrum(samples, hertz(PITCHES[p]), &one);
        even_db[step] = one.even_db;
        free(samples);
      }
      // Two reeds that beat have no one period
      const double within = k == REEDS_MADE ? 0.5 : 1.5;
      if (fabs(even_db[1] - even_db[0] - 4.0) > within ||
          fabs(even_db[2] - even_db[0] - 8.0) > within) {
        fail_msg("%s, MIDI %d: even harmonics rise from %.2f to %.2f and %.2f dB", REED_NAMES[k],
                 PITCHES[p], even_db[0], even_db[1], even_db[2]);
      }
    }
  }
}

/// Where its level over two periods first passes a quarter of the most it comes to.
static double
onset_of(const float* const samples, const double f0)
{
  const size_t window = (size_t)(2.0 * SOURCE_RATE_HZ / f0);
  const size_t span = (size_t)((ONSET_S + 0.25) * SOURCE_RATE_HZ);
  double most = -1e9;
  for (size_t i = 0; i < span; i += 8) {
    most = fmax(most, level_at(samples, i, window));
  }
  size_t at = 0;
  while (level_at(samples, at, window) < most + 20.0 * log10(0.25)) {
    at += 8;
  }
  return ((double)at + 0.5 * (double)window) / SOURCE_RATE_HZ;
}

/// A tone through the comb has the level and the onset that it was asked for.
static void
long_comb_keeps_level_and_onset(void** const state)
{
  (void)state;
  for (int k = REEDS_ACCORDION; k < REED_KINDS; ++k) {
    for (size_t p = 0; p < PITCH_COUNT; p += 2) {
      const double f0 = hertz(PITCHES[p]);
      const size_t from = (size_t)((ONSET_S + 0.25) * SOURCE_RATE_HZ);
      const size_t window = (size_t)(0.35 * SOURCE_RATE_HZ);
      float* const plain = play((ReedKind)k, 0.0, PITCHES[p]);
      float* const combed = play((ReedKind)k, 8.0, PITCHES[p]);
      const double louder = level_at(combed, from, window) - level_at(plain, from, window);
      const double away = onset_of(combed, f0) - ONSET_S;
      if (fabs(louder) > 1.5 || fabs(away) > 0.5 / f0 + 0.001) {
        fail_msg("%s, MIDI %d: %.2f dB louder, onset %.1f ms away", REED_NAMES[k], PITCHES[p],
                 louder, 1000.0 * away);
      }
      free(plain);
      free(combed);
    }
  }
}

/// Median of aubio's YIN over a tone, cents from its pitch.
static double
cents_of(const float* const samples, const int midi)
{
  const uint_t window = 4096;
  aubio_pitch_t* const pitch = new_aubio_pitch("yinfast", window, window, (uint_t)SOURCE_RATE_HZ);
  fvec_t* const input = new_fvec(window);
  fvec_t* const output = new_fvec(1);
  double sorted[16];
  for (size_t w = 0; w < 16; ++w) {
    const size_t from = (size_t)((ONSET_S + 0.3) * SOURCE_RATE_HZ) + w * window;
    memcpy(input->data, samples + from, window * sizeof(float));
    aubio_pitch_do(pitch, input, output);
    double value = 1200.0 * log2((double)fvec_get_sample(output, 0) / hertz(midi));
    for (size_t at = 0; at < w; ++at) {
      const double other = sorted[at];
      sorted[at] = fmin(other, value);
      value = fmax(other, value);
    }
    sorted[w] = value;
  }
  del_aubio_pitch(pitch);
  del_fvec(input);
  del_fvec(output);
  return 0.5 * (sorted[7] + sorted[8]);
}

/// An octave that YIN takes for the note would be 1200 cents.
static void
long_recorded_reeds_are_in_tune(void** const state)
{
  (void)state;
  for (int k = REEDS_ACCORDION; k < REED_KINDS; ++k) {
    double worst = 0.0;
    for (int midi = 55; midi <= 88; ++midi) {
      float* const samples = play((ReedKind)k, 0.0, midi);
      const double cents = cents_of(samples, midi);
      free(samples);
      worst = fmax(worst, fabs(cents));
      if (!(fabs(cents) <= 3.0)) {
        fail_msg("%s, MIDI %d: %.1f cents", REED_NAMES[k], midi, cents);
      }
    }
    printf("%-16s within %.1f cents\n", REED_NAMES[k], worst);
  }
}

int
main(const int argc, char** const argv)
{
  for (int k = REEDS_ACCORDION; k < REED_KINDS; ++k) {
    ReedSource* const source = reed_source_new((ReedKind)k, 1, 12.0);
    if (!source) {
      return 77;
    }
    reed_source_del(source);
  }
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(kinds_are_described),
      cmocka_unit_test(comb_raises_even_harmonics),
      cmocka_unit_test(long_comb_keeps_level_and_onset),
      cmocka_unit_test(long_recorded_reeds_are_in_tune),
  };
  sr_test_extent(argc, argv);
  return cmocka_run_group_tests(tests, NULL, NULL);
}
