// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_air_run.c
   Which runs of noise under a note are a release of air: smooth noise that lasts is, and is
   measured; what is short, soft, rough, crackling or low is none.
*/

#include "hear/air_run.h"

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

#define MIDI 76
#define TAKE_S 1.3
#define START_S 0.5
/// The reed's own noise and what is added, against the tone, dB, from 0 Hz to half the rate.
#define OWN_DB -46.0
#define AIR_DB -20.0
/// Windows to the length of one.
#define OVERLAP 3u
/// A window that has so much more noise than expected, against the tone, belongs to the run.
#define LEAST_ADDED 2.5e-4

typedef enum {
  SMOOTH,
  GATED,     ///< On and off 12 times a second
  CRACKLING, ///< Few loud samples
  LOW        ///< Only under some 2 kHz
} Kind;

typedef struct {
  Kind kind;
  double length_s;
  double level_db;
  bool spoilt;
} Playing;

static bool
is_on(const Playing* const playing, const double at_s)
{
  const double since = at_s - START_S;
  const bool gate = playing->kind != GATED || fmod(since, 1.0 / 12.0) < 0.5 / 12.0;
  return since >= 0.0 && since < playing->length_s && gate;
}

static void
add_air(float* const samples, const size_t count, const Playing* const playing, const double power,
        Random* const random)
{
  const double crackle_share = 0.02;
  double low = 0.0;
  double lower = 0.0;
  for (size_t i = 0; i < count; ++i) {
    double value = random_normal(random);
    if (playing->kind == CRACKLING) {
      value *= random_unit(random) < crackle_share ? 1.0 / sqrt(crackle_share) : 0.0;
    } else if (playing->kind == LOW) {
      low += 0.15 * (value - low);
      lower += 0.15 * (low - lower);
      value = 4.0 * lower;
    }
    if (is_on(playing, (double)i / TONE_RATE_HZ)) {
      samples[i] += (float)(sqrt(power) * value);
    }
  }
}

typedef struct {
  SrInterHarmonic* between;
  SrProfile* profile;
  size_t size;
  size_t hop;
  double hop_s;
  double tone; ///< Power
  size_t count;
  float* samples;
} Take;

static bool
measure_at(Take* const t, const size_t start, SrInterHarmonicMeasure* const measure)
{
  const SrInterHarmonicPitches pitches = {
      .count = 1, .main_count = 1, .pitch = {MIDI - SR_LOWEST_MIDI}};
  return sr_inter_harmonic_measure(t->between, t->samples + start, t->profile, &pitches, measure);
}

/// The mean of what is measured before the air.
static void
expect(Take* const t, float expected[SR_BANDS])
{
  memset(expected, 0, SR_BANDS * sizeof(float));
  size_t windows = 0;
  for (size_t start = 0; (double)(start + t->size) < START_S * TONE_RATE_HZ; start += t->hop) {
    SrInterHarmonicMeasure measure;
    assert_true(measure_at(t, start, &measure));
    for (size_t band = 0; band < SR_BANDS; ++band) {
      expected[band] += measure.noise[band];
    }
    ++windows;
  }
  for (size_t band = 0; band < SR_BANDS; ++band) {
    expected[band] /= (float)windows;
  }
}

/// Gather the windows that hold more noise than expected.
static void
gather(Take* const t, const bool spoilt, SrAirRun* const run)
{
  float expected[SR_BANDS];
  expect(t, expected);
  memset(run, 0, sizeof(*run));
  for (size_t start = 0; start + t->size <= t->count; start += t->hop) {
    SrInterHarmonicMeasure measure;
    assert_true(measure_at(t, start, &measure));
    const SrAirWindow window = {.time_s = (double)(2 * start + t->size) / 2.0 / TONE_RATE_HZ,
                                .weight = 1.0,
                                .note = true,
                                .pitch = MIDI - SR_LOWEST_MIDI,
                                .power = measure.power,
                                .frequency_hz = measure.frequency_hz};
    const SrAirPiece piece = sr_air_piece(t->between, TONE_RATE_HZ, t->hop_s, window.time_s);
    const double added = sr_air_reported(measure.noise) - sr_air_reported(expected);
    if (added > LEAST_ADDED * measure.power) {
      if (!run->open) {
        sr_air_run_open(run, t->hop_s, window.time_s, spoilt);
      }
      sr_air_run_add(run, &window, &piece, measure.power, &measure, expected);
    }
  }
}

static SrAirVerdict
weigh(const Playing playing, const uint64_t seed, SrAirHeard* const heard, double* const tone)
{
  Take t = {.between = sr_inter_harmonic_new(TONE_RATE_HZ, SR_INTER_HARMONIC_WINDOW_S),
            .profile = sr_profile_new(440.0),
            .count = (size_t)(TAKE_S * TONE_RATE_HZ)};
  assert_true(t.between && t.profile);
  t.size = sr_inter_harmonic_size(t.between);
  t.hop = t.size / OVERLAP;
  t.hop_s = (double)t.hop / TONE_RATE_HZ;
  t.samples = (float*)calloc(t.count, sizeof(float));
  assert_non_null(t.samples);
  Random random = {seed};
  *tone = add_tone(t.samples, t.count, tone_hz(MIDI, 0.0), 0.1);
  add_noise(t.samples, t.count, *tone * pow(10.0, OWN_DB / 10.0), &random);
  add_air(t.samples, t.count, &playing, *tone * pow(10.0, playing.level_db / 10.0), &random);
  SrAirRun run;
  gather(&t, playing.spoilt, &run);
  const SrAirVerdict verdict = sr_air_run_weigh(&run, t.hop_s, heard);
  sr_inter_harmonic_del(t.between);
  sr_profile_del(t.profile);
  free(t.samples);
  return verdict;
}

static void
test_smooth_noise_that_lasts_is_air(void** const state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 3; ++seed) {
    for (double length_s = 0.15; length_s <= 0.6; length_s += 0.15) {
      SrAirHeard heard;
      double tone = 0.0;
      const Playing playing = {SMOOTH, length_s, AIR_DB, false};
      assert_int_not_equal(weigh(playing, seed, &heard, &tone), SR_AIR_NOT);
      assert_int_equal(heard.midi, MIDI);
      assert_true(fabs(heard.start_s - START_S) < 0.02);
      assert_true(fabs(heard.end_s - START_S - length_s) < 0.02);
      assert_true(fabs(decibels(heard.note_power) - decibels(tone)) < 0.5);
      // What is reported of it reaches from 0.5 to 10 kHz
      const double due_db = decibels(tone) + AIR_DB + decibels((10000.0 - 500.0) / 22050.0);
      if (!(fabs(decibels(heard.hiss_power) - due_db) < 1.5)) {
        fail_msg("%.0f ms: %.1f dB for %.1f dB", 1000.0 * length_s, decibels(heard.hiss_power),
                 due_db);
      }
    }
  }
}

/// Long enough and smooth enough, it is air whatever else sounds about it; short, it may be that.
static void
test_what_sounds_about_it_spoils_only_what_is_short(void** const state)
{
  (void)state;
  SrAirHeard heard;
  double tone = 0.0;
  assert_int_equal(weigh((Playing){SMOOTH, 0.5, AIR_DB, true}, 1, &heard, &tone), SR_AIR_SURE);
  assert_int_equal(weigh((Playing){SMOOTH, 0.1, AIR_DB, false}, 1, &heard, &tone), SR_AIR_LIKELY);
  assert_int_equal(weigh((Playing){SMOOTH, 0.1, AIR_DB, true}, 1, &heard, &tone), SR_AIR_NOT);
}

/// What is no air in any of three takes.
static void
check_none(const Playing playing)
{
  for (uint64_t seed = 1; seed <= 3; ++seed) {
    SrAirHeard heard;
    double tone = 0.0;
    assert_int_equal(weigh(playing, seed, &heard, &tone), SR_AIR_NOT);
  }
}

static void
test_without_noise_there_is_none(void** const state)
{
  (void)state;
  check_none((Playing){SMOOTH, 0.0, AIR_DB, false});
  check_none((Playing){SMOOTH, 0.4, -45.0, false});
}

static void
test_a_short_noise_is_none(void** const state)
{
  (void)state;
  check_none((Playing){SMOOTH, 0.03, AIR_DB, false});
}

static void
test_a_gated_noise_is_none(void** const state)
{
  (void)state;
  check_none((Playing){GATED, 0.5, AIR_DB, false});
}

static void
test_a_crackling_noise_is_none(void** const state)
{
  (void)state;
  check_none((Playing){CRACKLING, 0.5, AIR_DB, false});
}

static void
test_a_low_noise_is_none(void** const state)
{
  (void)state;
  check_none((Playing){LOW, 0.5, AIR_DB, false});
}

/// More than any air has under a note.
static void
test_a_roar_is_none(void** const state)
{
  (void)state;
  check_none((Playing){SMOOTH, 0.5, 3.0, false});
}

/// After a stretch that was not measured, only what is as loud and under the same note goes on.
static void
test_a_run_does_not_go_on_as_another(void** const state)
{
  (void)state;
  const SrAirRun run = {.open = true, .last_flagged_s = 1.0, .last_pitch = 20, .most = 1e-4};
  const SrAirWindow next = {.time_s = 1.2, .weight = 1.0, .note = true, .pitch = 20};
  assert_false(sr_air_run_is_another(&run, &next, 1e-4));
  assert_true(sr_air_run_is_another(&run, &next, 1e-3));
  assert_true(sr_air_run_is_another(&run, &next, 1e-5));
  SrAirWindow other = next;
  other.pitch = 22;
  assert_true(sr_air_run_is_another(&run, &other, 1e-4));
  other.doubled = true;
  assert_false(sr_air_run_is_another(&run, &other, 1e-4));
  other.doubled = false;
  other.time_s = 1.0 + 0.3 * SR_INTER_HARMONIC_WINDOW_S;
  assert_false(sr_air_run_is_another(&run, &other, 1e-3));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_smooth_noise_that_lasts_is_air),
      cmocka_unit_test(test_what_sounds_about_it_spoils_only_what_is_short),
      cmocka_unit_test(test_without_noise_there_is_none),
      cmocka_unit_test(test_a_short_noise_is_none),
      cmocka_unit_test(test_a_gated_noise_is_none),
      cmocka_unit_test(test_a_crackling_noise_is_none),
      cmocka_unit_test(test_a_low_noise_is_none),
      cmocka_unit_test(test_a_roar_is_none),
      cmocka_unit_test(test_a_run_does_not_go_on_as_another),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
