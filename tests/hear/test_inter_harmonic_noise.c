// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_inter_harmonic_noise.c
   Noise between harmonics: white noise of known power under a harmonic tone is read, a tone alone
   has none, and another tone is no noise.
*/

#include "hear/inter_harmonic_noise.h"

#include "noisy_tone.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/// Windows over which a level is averaged.
#define WINDOWS 6u
/// Bands from 1.08 to 9.5 kHz.
#define FIRST 9
#define BEHIND 22
#define AMPLITUDE 0.1

typedef struct {
  SrInterHarmonic* between;
  SrProfile* profile;
  size_t size;
  float* samples;
  Random random;
} Listener;

static void
open_listener(Listener* const l, const double window_s)
{
  l->between = sr_inter_harmonic_new(TONE_RATE_HZ, window_s);
  l->profile = sr_profile_new(440.0);
  assert_true(l->between && l->profile);
  l->size = sr_inter_harmonic_size(l->between);
  l->samples = (float*)calloc(l->size, sizeof(float));
  assert_non_null(l->samples);
  l->random.state = 1;
}

static void
close_listener(Listener* const l)
{
  sr_inter_harmonic_del(l->between);
  sr_profile_del(l->profile);
  free(l->samples);
}

/// What was put into a window and what was read of it.
typedef struct {
  double tone;
  double noise;
  double tone_read;
  double noise_read;
  double peak_ratio;
  double frequency_hz;
} Reading;

/// What is played; `midi` 0 is no tone.
typedef struct {
  int midi;
  double cents;
  double noise_db; ///< Against the tone, from 0 Hz to half the rate; under -200: none
  double other_hz; ///< Another tone, 20 dB under the first; 0: none
} Playing;

/// Windows of a playing, averaged.
static Reading
listen(Listener* const l, const Playing* const playing)
{
  Reading reading = {0};
  for (size_t w = 0; w < WINDOWS; ++w) {
    memset(l->samples, 0, l->size * sizeof(float));
    const double hz = tone_hz(playing->midi, playing->cents);
    reading.tone = playing->midi ? add_tone(l->samples, l->size, hz, AMPLITUDE) : 0.005;
    if (playing->noise_db > -200.0) {
      const double power = reading.tone * pow(10.0, playing->noise_db / 10.0);
      add_noise(l->samples, l->size, power, &l->random);
      reading.noise =
          power * (SR_BAND_EDGES_HZ[BEHIND] - SR_BAND_EDGES_HZ[FIRST]) / (0.5 * TONE_RATE_HZ);
    }
    for (size_t i = 0; i < l->size && playing->other_hz > 0.0; ++i) {
      l->samples[i] +=
          (float)(0.1 * AMPLITUDE * sin(2.0 * M_PI * playing->other_hz * (double)i / TONE_RATE_HZ));
    }
    const SrInterHarmonicPitches pitches = {
        .count = playing->midi ? 1 : 0,
        .main_count = playing->midi ? 1 : 0,
        .pitch = {(size_t)(playing->midi ? playing->midi - SR_LOWEST_MIDI : 0)}};
    SrInterHarmonicMeasure measure;
    assert_true(sr_inter_harmonic_measure(l->between, l->samples, l->profile, &pitches, &measure));
    for (size_t band = FIRST; band < BEHIND; ++band) {
      reading.noise_read += (double)measure.noise[band] / WINDOWS;
    }
    reading.tone_read += measure.power / WINDOWS;
    reading.peak_ratio += measure.peak_ratio / WINDOWS;
    reading.frequency_hz += measure.frequency_hz / WINDOWS;
  }
  return reading;
}

static void
check_noise(const double window_s, const int lowest)
{
  Listener l;
  open_listener(&l, window_s);
  double worst_db = 0.0;
  for (int midi = lowest; midi <= 88; midi += 5) {
    for (double noise_db = -40.0; noise_db <= -10.0; noise_db += 10.0) {
      const Reading reading = listen(&l, &(Playing){midi, 0.0, noise_db, 0.0});
      const double off_db = decibels(reading.noise_read) - decibels(reading.noise);
      worst_db = fmax(worst_db, fabs(off_db));
      if (!(fabs(off_db) < 1.0)) {
        fail_msg("note %d, noise at %.0f dB: read %.1f dB off", midi, noise_db, off_db);
      }
      assert_true(reading.peak_ratio > 0.9 && reading.peak_ratio < 1.6);
    }
  }
  print_message("windows of %.0f ms: off by %.2f dB at most\n", 1000.0 * window_s, worst_db);
  close_listener(&l);
}

static void
test_noise_under_a_tone_is_read(void** const state)
{
  (void)state;
  check_noise(SR_INTER_HARMONIC_WINDOW_S, 55);
}

/// There is room between the harmonics of higher notes only.
static void
test_short_windows_read_it_as_well(void** const state)
{
  (void)state;
  check_noise(SR_INTER_HARMONIC_SHORT_S, 65);
}

static void
test_noise_alone_is_read(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  const Reading reading = listen(&l, &(Playing){0, 0.0, -20.0, 0.0});
  assert_true(fabs(decibels(reading.noise_read) - decibels(reading.noise)) < 1.0);
  assert_true(isnan(reading.frequency_hz));
  close_listener(&l);
}

static void
test_a_tone_alone_has_no_noise(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  double most_db = -INFINITY;
  for (int midi = 55; midi <= 88; midi += 3) {
    const Reading reading = listen(&l, &(Playing){midi, 0.0, -INFINITY, 0.0});
    most_db = fmax(most_db, decibels(reading.noise_read) - decibels(reading.tone));
  }
  print_message("under a tone alone: %.1f dB at most\n", most_db);
  assert_true(most_db < -55.0);
  close_listener(&l);
}

/// A reed is not quite where its profile has it.
static void
test_the_tone_itself_is_measured(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  for (int midi = 57; midi <= 86; midi += 5) {
    for (double cents = -30.0; cents <= 30.0; cents += 15.0) {
      const Reading reading = listen(&l, &(Playing){midi, cents, -30.0, 0.0});
      const double off_cents = 1200.0 * log2(reading.frequency_hz / tone_hz(midi, cents));
      assert_true(fabs(off_cents) < 2.0);
      assert_true(fabs(decibels(reading.tone_read) - decibels(reading.tone)) < 0.3);
      assert_true(fabs(decibels(reading.noise_read) - decibels(reading.noise)) < 2.0);
    }
  }
  close_listener(&l);
}

/// It shows as a peak, and noise is read as if it were not there.
static void
test_another_tone_is_no_noise(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  const double between_hz = 3.5 * tone_hz(69, 0.0);
  const Reading without = listen(&l, &(Playing){69, 0.0, -35.0, 0.0});
  const Reading with = listen(&l, &(Playing){69, 0.0, -35.0, between_hz});
  assert_true(without.peak_ratio < 1.6);
  assert_true(with.peak_ratio > 5.0);
  assert_true(fabs(decibels(with.noise_read) - decibels(without.noise_read)) < 1.0);
  close_listener(&l);
}

/// Notes so low and close that nothing is between them.
static void
test_without_a_between_it_says_so(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  SrInterHarmonicPitches pitches = {.count = 8, .main_count = 8};
  for (size_t i = 0; i < 8; ++i) {
    pitches.pitch[i] = i;
    add_tone(l.samples, l.size, tone_hz(SR_LOWEST_MIDI + (int)i, 0.0), 0.02);
  }
  SrInterHarmonicMeasure measure;
  assert_false(sr_inter_harmonic_measure(l.between, l.samples, l.profile, &pitches, &measure));
  assert_true(measure.free_share < 0.1);
  close_listener(&l);
}

/// Mean square of what is left of a window when the tone is taken out, Hann's window taken off.
static double
rest_of(Listener* const l, const double noise)
{
  memset(l->samples, 0, l->size * sizeof(float));
  add_tone(l->samples, l->size, tone_hz(76, 0.0), AMPLITUDE);
  add_noise(l->samples, l->size, noise, &l->random);
  const SrInterHarmonicPitches pitches = {
      .count = 1, .main_count = 1, .pitch = {76 - SR_LOWEST_MIDI}};
  SrInterHarmonicMeasure measure;
  assert_true(sr_inter_harmonic_measure(l->between, l->samples, l->profile, &pitches, &measure));
  const float* const rest = sr_inter_harmonic_rest(l->between);
  const float* const window = sr_inter_harmonic_window(l->between);
  double squares = 0.0;
  double shape = 0.0;
  for (size_t i = 0; i < l->size; ++i) {
    squares += (double)(rest[i] * rest[i]);
    shape += (double)(window[i] * window[i]);
  }
  return squares / shape;
}

/// What is left is the noise from 1 to 9.5 kHz, less what lies under harmonics.
static void
test_the_rest_is_the_noise(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  const double noise = 1e-5;
  double rest = 0.0;
  for (size_t w = 0; w < WINDOWS; ++w) {
    rest += rest_of(&l, noise) / WINDOWS;
  }
  const double due_db = decibels(noise * (9500.0 - 1000.0) / (0.5 * TONE_RATE_HZ));
  print_message("rest: %.1f dB for %.1f dB\n", decibels(rest), due_db);
  assert_true(decibels(rest) < due_db + 0.5 && decibels(rest) > due_db - 2.0);
  assert_true(decibels(rest_of(&l, 0.0)) < due_db - 15.0);
  close_listener(&l);
}

/// Not only its power: it is the same samples, under Hann's window.
static void
test_the_rest_keeps_its_course(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  for (size_t i = 0; i < l.size; ++i) {
    l.samples[i] = (float)sin(2.0 * M_PI * 4000.0 * (double)i / TONE_RATE_HZ + 0.3);
  }
  const SrInterHarmonicPitches pitches = {.count = 0};
  SrInterHarmonicMeasure measure;
  assert_true(sr_inter_harmonic_measure(l.between, l.samples, l.profile, &pitches, &measure));
  const float* const rest = sr_inter_harmonic_rest(l.between);
  const float* const window = sr_inter_harmonic_window(l.between);
  for (size_t i = 0; i < l.size; ++i) {
    assert_true(fabs((double)(rest[i] - window[i] * l.samples[i])) < 0.01);
  }
  close_listener(&l);
}

/// Noise where a note is expected is none.
static void
test_noise_is_no_tone(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  const Reading reading = listen(&l, &(Playing){69, 0.0, 40.0, 0.0});
  assert_true(reading.tone_read < 0.1 * reading.noise);
  close_listener(&l);
}

/// Low notes leave no bin of some bands free: those have what is beside them.
static void
test_bands_without_a_free_bin_are_filled_in(void** const state)
{
  (void)state;
  Listener l;
  open_listener(&l, SR_INTER_HARMONIC_WINDOW_S);
  const double noise = 1e-5;
  double sums[SR_BANDS] = {0.0};
  for (size_t w = 0; w < 4 * WINDOWS; ++w) {
    memset(l.samples, 0, l.size * sizeof(float));
    add_noise(l.samples, l.size, noise, &l.random);
    const SrInterHarmonicPitches pitches = {.count = 2, .main_count = 2, .pitch = {0, 5}};
    SrInterHarmonicMeasure measure;
    assert_true(sr_inter_harmonic_measure(l.between, l.samples, l.profile, &pitches, &measure));
    for (size_t band = 0; band < SR_BANDS; ++band) {
      sums[band] += (double)measure.noise[band] / (4 * WINDOWS);
    }
  }
  for (size_t band = 0; band < BEHIND; ++band) {
    const double share =
        (SR_BAND_EDGES_HZ[band + 1] - SR_BAND_EDGES_HZ[band]) / (0.5 * TONE_RATE_HZ);
    assert_true(fabs(decibels(sums[band]) - decibels(noise * share)) < 3.0);
  }
  close_listener(&l);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_noise_under_a_tone_is_read),
      cmocka_unit_test(test_short_windows_read_it_as_well),
      cmocka_unit_test(test_noise_alone_is_read),
      cmocka_unit_test(test_a_tone_alone_has_no_noise),
      cmocka_unit_test(test_the_tone_itself_is_measured),
      cmocka_unit_test(test_another_tone_is_no_noise),
      cmocka_unit_test(test_without_a_between_it_says_so),
      cmocka_unit_test(test_the_rest_is_the_noise),
      cmocka_unit_test(test_the_rest_keeps_its_course),
      cmocka_unit_test(test_noise_is_no_tone),
      cmocka_unit_test(test_bands_without_a_free_bin_are_filled_in),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
