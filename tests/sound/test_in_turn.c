// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_in_turn.c
   Two recordings in turn: each stretch sounds when it should, as loud as the others, in its pitch
   and at its speed. What comes out is measured by its envelope and by aubio's pitch.
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include <steadyreed/in_turn.h>
#include <steadyreed/slow.h>

#include <aubio/aubio.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ 44100.0
#define SECONDS 8.0

/// A recording in which a tone begins at each of some times, and lasts for a while.
typedef struct {
  float* samples;
  size_t count;
} Made;

static Made
make(const double hz, const double level, const double every_s, const double lasts_s)
{
  Made made = {NULL, (size_t)(SECONDS * RATE_HZ)};
  made.samples = calloc(made.count, sizeof(float));
  assert_non_null(made.samples);
  for (size_t i = 0; i < made.count; ++i) {
    const double t = (double)i / RATE_HZ;
    const double in = fmod(t, every_s);
    const double rise = fmin(1.0, fmin(in, fmax(0.0, lasts_s - in)) / 0.005);
    double wave = 0.0;
    for (int k = 1; k <= 4; ++k) {
      wave += sin(2.0 * M_PI * hz * k * t) / k;
    }
    made.samples[i] = (float)(level * rise * wave);
  }
  return made;
}

static double
rms_db(const SrInTurn* const sound, const double from_s, const double to_s)
{
  double sum = 0.0;
  size_t count = 0;
  for (size_t i = (size_t)(from_s * sound->rate_hz); i < (size_t)(to_s * sound->rate_hz); ++i) {
    sum += (double)sound->samples[i] * (double)sound->samples[i];
    ++count;
  }
  return 10.0 * log10(fmax(1e-12, sum / (double)count));
}

/// Times at which sound begins after at least 0.2 s of near silence.
static size_t
find_begins(const SrInTurn* const sound, double* const begins, const size_t most)
{
  size_t found = 0;
  double quiet_s = 1.0;
  const size_t block = (size_t)(0.002 * sound->rate_hz);
  for (size_t i = 0; i + block <= sound->count; i += block) {
    float peak = 0.0f;
    for (size_t k = i; k < i + block; ++k) {
      peak = fmaxf(peak, fabsf(sound->samples[k]));
    }
    if (peak > 0.02f) {
      if (quiet_s >= 0.2 && found < most) {
        begins[found++] = (double)i / sound->rate_hz;
      }
      quiet_s = 0.0;
    } else {
      quiet_s += 0.002;
    }
  }
  return found;
}

static float
peak_of(const SrInTurn* const sound)
{
  float peak = 0.0f;
  for (size_t i = 0; i < sound->count; ++i) {
    peak = fmaxf(peak, fabsf(sound->samples[i]));
  }
  return peak;
}

/// Pitch by aubio's YIN in the middle of a stretch, Hz.
static double
pitch_at(const SrInTurn* const sound, const double at_s)
{
  const uint_t size = 4096;
  aubio_pitch_t* const pitch =
      new_aubio_pitch("yinfast", size, size, (uint_t)lrint(sound->rate_hz));
  fvec_t* const in = new_fvec(size);
  fvec_t* const out = new_fvec(1);
  for (uint_t i = 0; i < size; ++i) {
    in->data[i] = sound->samples[(size_t)(at_s * sound->rate_hz) + i];
  }
  aubio_pitch_do(pitch, in, out);
  const double hz = (double)out->data[0];
  del_fvec(out);
  del_fvec(in);
  del_aubio_pitch(pitch);
  return hz;
}

/// Three bars of two takes, the second a fifth of the level and 1.25 times as slow.
static void
bars_come_in_turn(void** const state)
{
  (void)state;
  Made one = make(440.0, 0.3, 1.0, 0.6);
  Made other = make(440.0, 0.06, 1.25, 0.75);
  const SrSpan spans[3] = {{1.0, 2.0}, {2.0, 3.0}, {3.0, 4.0}};
  const SrSpan slow_spans[3] = {{1.25, 2.5}, {2.5, 3.75}, {3.75, 5.0}};
  const bool built = sr_slow_is_built();
  for (int same_tempo = 0; same_tempo <= (built ? 1 : 0); ++same_tempo) {
    const double speed = same_tempo ? 0.8 : 1.0;
    const double rate_hz = same_tempo ? 48000.0 : RATE_HZ;
    const SrTurn turns[2] = {{one.samples, one.count, RATE_HZ, 0.0, spans, speed},
                             {other.samples, other.count, RATE_HZ, 0.0, slow_spans, 1.0}};
    SrInTurn sound;
    assert_int_equal(sr_in_turn_make(turns, 2, 3, rate_hz, &sound, NULL), SR_OK);
    assert_int_equal(sound.begin_count, 6);
    double begins[12];
    assert_int_equal(find_begins(&sound, begins, 12), 6);
    double worst_s = 0.0;
    double at_s = SR_IN_TURN_FIRST_S; // Where a stretch begins, by hand
    for (size_t i = 0; i < 6; ++i) {
      const double length_s = i % 2 ? 1.25 : 1.0 / speed;
      at_s += i % 2 ? SR_IN_TURN_BEFORE_S : SR_IN_TURN_BEFORE_S / speed;
      worst_s = fmax(worst_s, fmax(fabs(sound.begins_s[i] - at_s), fabs(begins[i] - at_s)));
      at_s += length_s + (i % 2 ? SR_IN_TURN_APART_S : SR_IN_TURN_BETWEEN_S);
    }
    const double first_db = rms_db(&sound, begins[0] + 0.1, begins[0] + 0.5);
    const double second_db = rms_db(&sound, begins[1] + 0.1, begins[1] + 0.5);
    print_message("%s: begins within %.1f ms (limit 15), levels %.2f and %.2f dB (limit 0.5 apart),"
                  " peak %.2f (limit %.2f)\n",
                  same_tempo ? "at one tempo" : "as recorded", 1e3 * worst_s, first_db, second_db,
                  (double)peak_of(&sound), SR_IN_TURN_PEAK);
    assert_true(worst_s <= 0.015);
    assert_true(fabs(first_db - second_db) <= 0.5);
    assert_true(fabs(first_db + 20.0) <= 0.7);
    assert_true((double)peak_of(&sound) <= SR_IN_TURN_PEAK + 1e-6);
    assert_true(fabs(pitch_at(&sound, begins[0] + 0.2) - 440.0) < 1.5);
    assert_true(fabs(pitch_at(&sound, begins[1] + 0.2) - 440.0) < 1.5);
    sr_in_turn_clear(&sound);
  }
  free(one.samples);
  free(other.samples);
}

/// A click far over the tone keeps both quieter, but equally loud.
static void
peaks_stay_safe(void** const state)
{
  (void)state;
  Made one = make(440.0, 0.02, 1.0, 0.9);
  Made other = make(330.0, 0.3, 1.0, 0.9);
  one.samples[(size_t)(1.5 * RATE_HZ)] = 0.9f;
  other.samples[(size_t)(1.2 * RATE_HZ)] = NAN;
  const SrSpan span = {1.0, 2.0};
  const SrTurn turns[2] = {{one.samples, one.count, RATE_HZ, 0.0, &span, 1.0},
                           {other.samples, other.count, RATE_HZ, 0.0, &span, 1.0}};
  SrInTurn sound;
  assert_int_equal(sr_in_turn_make(turns, 2, 1, RATE_HZ, &sound, NULL), SR_OK);
  assert_true((double)peak_of(&sound) <= SR_IN_TURN_PEAK + 1e-6);
  for (size_t i = 0; i < sound.count; ++i) {
    assert_true(isfinite(sound.samples[i]));
  }
  assert_true(fabs(rms_db(&sound, sound.begins_s[0] + 0.1, sound.begins_s[0] + 0.4) -
                   rms_db(&sound, sound.begins_s[1] + 0.3, sound.begins_s[1] + 0.6)) <= 0.6);
  sr_in_turn_clear(&sound);
  // One alone, and what cannot be
  assert_int_equal(sr_in_turn_make(turns, 1, 1, RATE_HZ, &sound, NULL), SR_OK);
  assert_int_equal(sound.begin_count, 1);
  sr_in_turn_clear(&sound);
  const SrSpan silent = {20.0, 21.0};
  const SrSpan backwards = {2.0, 1.0};
  const SrTurn nothing = {one.samples, one.count, RATE_HZ, 0.0, &silent, 1.0};
  const SrTurn wrong = {one.samples, one.count, RATE_HZ, 0.0, &backwards, 1.0};
  const SrTurn fast = {one.samples, one.count, RATE_HZ, 0.0, &span, 1.5};
  assert_int_equal(sr_in_turn_make(&nothing, 1, 1, RATE_HZ, &sound, NULL), SR_NOT_FOUND);
  assert_null(sound.samples);
  assert_int_equal(sr_in_turn_make(&wrong, 1, 1, RATE_HZ, &sound, NULL), SR_BAD_ARGUMENT);
  assert_int_equal(sr_in_turn_make(&fast, 1, 1, RATE_HZ, &sound, NULL), SR_BAD_ARGUMENT);
  assert_int_equal(sr_in_turn_make(turns, 3, 1, RATE_HZ, &sound, NULL), SR_BAD_ARGUMENT);
  free(one.samples);
  free(other.samples);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bars_come_in_turn),
      cmocka_unit_test(peaks_stay_safe),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
