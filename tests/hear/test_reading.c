// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_reading.c
   Whether notes are doubled an octave below, as the pitches of a take tell it: tones of known
   pitch and spectrum, by themselves or in pairs.
*/

#include "reading_evidence.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define RATE_HZ 44100.0
#define NOTE_S 0.3
/// Two octaves of D major from D4 on.
static const int SCALE[] = {62, 64, 66, 67, 69, 71, 73, 74, 76, 78, 79, 81, 83, 85, 86};
#define NOTES (sizeof(SCALE) / sizeof(SCALE[0]))

typedef struct {
  size_t first; ///< In SCALE
  size_t last;
  double even_db; ///< Even harmonics raised by so much
  bool pair;      ///< With the octave below each note
} Playing;

static void
add_tone(float* const samples, const double frequency_hz, const double even_db)
{
  const double even = pow(10.0, even_db / 20.0);
  for (size_t i = 0; i < (size_t)(0.9 * NOTE_S * RATE_HZ); ++i) {
    const double t = (double)i / RATE_HZ;
    double value = 0.0;
    for (int k = 1; k <= 12; ++k) {
      value += (k % 2 ? 1.0 : even) * sin(2.0 * M_PI * frequency_hz * k * t + 0.7 * k * k) / k;
    }
    samples[i] += (float)(0.1 * fmin(1.0, t / 0.01) * value);
  }
}

/// What the pitches say when a phrase of the whole scale is played in some way.
static double
nats_of(const Playing playing, const bool known)
{
  SrExpected expected = {.any = known};
  for (size_t i = 0; known && i < NOTES; ++i) {
    expected.expected[SCALE[i]] = 1;
    expected.share[SCALE[i]] = 1.0f / (float)NOTES;
  }
  const size_t note = (size_t)(NOTE_S * RATE_HZ);
  const size_t count = note * (playing.last - playing.first + 2);
  float* const samples = (float*)calloc(count, sizeof(float));
  assert_non_null(samples);
  for (size_t i = playing.first; i <= playing.last; ++i) {
    float* const at = samples + note * (i - playing.first);
    const double hz = 440.0 * exp2((SCALE[i] - 69) / 12.0);
    add_tone(at, hz, playing.even_db);
    if (playing.pair) {
      add_tone(at, hz / 2.0, playing.even_db);
    }
  }
  SrCalibration* calibration = NULL;
  assert_int_equal(sr_calibration_new(RATE_HZ, &expected, &calibration, NULL), SR_OK);
  sr_calibration_push(calibration, samples, count);
  const double nats = sr_calibration_doubled_nats(calibration);
  sr_calibration_del(calibration);
  free(samples);
  return nats;
}

static void
test_single_reeds_are_single_whatever_their_spectrum(void** const state)
{
  (void)state;
  for (double even_db = 0.0; even_db <= 8.0; even_db += 4.0) {
    const double nats = nats_of((Playing){0, NOTES - 1, even_db, false}, true);
    print_message("single, even harmonics +%.0f dB: %.1f nats\n", even_db, nats);
    assert_true(nats < -10.0);
  }
}

static void
test_pairs_are_doubled_whatever_their_spectrum(void** const state)
{
  (void)state;
  for (double even_db = 0.0; even_db <= 8.0; even_db += 4.0) {
    const double nats = nats_of((Playing){0, NOTES - 1, even_db, true}, true);
    print_message("octaves, even harmonics +%.0f dB: %.1f nats\n", even_db, nats);
    assert_true(nats > 10.0);
  }
}

/// Strong even harmonics in the lower octave of a phrase that has both: it may be either.
static void
test_what_may_be_either_is_in_doubt(void** const state)
{
  (void)state;
  const double nats = nats_of((Playing){0, 7, 12.0, false}, true);
  print_message("the lower octave alone, even harmonics +12 dB: %.1f nats\n", nats);
  assert_true(fabs(nats) < 3.0);
}

static void
test_without_a_phrase_nothing_is_doubled(void** const state)
{
  (void)state;
  assert_true(nats_of((Playing){0, NOTES - 1, 0.0, true}, false) < -1e9);
}

/// Over all pitches the density of a reading is that of one note.
static void
test_the_density_is_one(void** const state)
{
  (void)state;
  SrExpected expected = {.any = true};
  expected.share[62] = 0.25f;
  expected.share[74] = 0.75f;
  for (SrReading reading = SR_READ_SINGLE; reading < SR_READINGS; ++reading) {
    double sum = 0.0;
    for (double midi = SR_LOWEST_MIDI; midi < SR_HIGHEST_MIDI; midi += 0.01) {
      sum += 0.01 * sr_reading_density(&expected, reading, midi);
    }
    assert_true(fabs(sum - 1.0) < 0.02);
  }
  // Only there can a note be that is not doubled, or that is
  assert_true(sr_reading_density(&expected, SR_READ_SINGLE, 74.0) >
              5.0 * sr_reading_density(&expected, SR_READ_DOUBLED, 74.0));
  assert_true(sr_reading_density(&expected, SR_READ_DOUBLED, 50.0) >
              5.0 * sr_reading_density(&expected, SR_READ_SINGLE, 50.0));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_single_reeds_are_single_whatever_their_spectrum),
      cmocka_unit_test(test_pairs_are_doubled_whatever_their_spectrum),
      cmocka_unit_test(test_what_may_be_either_is_in_doubt),
      cmocka_unit_test(test_without_a_phrase_nothing_is_doubled),
      cmocka_unit_test(test_the_density_is_one),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
