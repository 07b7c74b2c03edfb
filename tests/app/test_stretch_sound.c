// SPDX-License-Identifier: GPL-3.0-or-later

// A stretch of a recording and what was written down from it, one after the other.
//
//     test_stretch_sound TAKE

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "stretch_sound.h"

#include <steadyreed/audio.h>
#include <steadyreed/slow.h>
#include <steadyreed/sound.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE 44100.0
#define SOME 22050u

static const char* take;
static SrChosen chosen;

/// cmocka's own comparison is of floats.
static void
expect_near(const double value, const double expected, const double within)
{
  if (!(fabs(value - expected) <= within)) {
    fail_msg("%.9g is not within %g of %.9g", value, within, expected);
  }
}

static SrStretchOrder
order_of(const bool recorded, const bool written, const bool again)
{
  return (SrStretchOrder){.path = take,
                          .from_s = 1.0,
                          .to_s = 1.5,
                          .written = written ? &chosen : NULL,
                          .reference_hz = 440.0,
                          .recorded = recorded,
                          .speed = 1.0,
                          .again = again,
                          .pause_s = 0.25};
}

/// All samples of an order, at most `most`; free() them.
static float*
all(const SrStretchOrder* const order, const size_t most, size_t* const count)
{
  SrError error = {0};
  float* const samples = (float*)calloc(most, sizeof(float));
  SrStretchSound* const sound = sr_stretch_sound_new(order, RATE, &error);
  assert_non_null(sound);
  size_t got = 0;
  *count = 0;
  // Chunks of a size that ends nowhere
  while (*count < most &&
         (got = sr_stretch_sound_read(sound, samples + *count, MIN(777, most - *count))) > 0) {
    *count += got;
  }
  sr_stretch_sound_free(sound);
  return samples;
}

static void
a_stretch_is_that_of_the_recording(void** const state)
{
  (void)state;
  const SrStretchOrder order = order_of(true, false, false);
  size_t count = 0;
  float* const samples = all(&order, 200000, &count);
  float* const read = (float*)malloc(66150 * sizeof(float));
  SrTakeReader* reader = NULL;
  assert_int_equal(sr_take_reader_new(take, &reader, NULL), SR_OK);
  assert_int_equal(sr_take_reader_read(reader, read, 66150), 66150);
  sr_take_reader_del(reader);
  assert_int_equal(count, SOME);
  // But for its fades of 5 ms
  assert_memory_equal(samples + 221, read + 44100 + 221, (SOME - 442) * sizeof(float));
  assert_true(fabsf(samples[0]) <= 0.0f);
  free(read);
  free(samples);
}

static void
it_comes_again_after_a_pause(void** const state)
{
  (void)state;
  const SrStretchOrder order = order_of(true, false, true);
  size_t count = 0;
  float* const samples = all(&order, 200000, &count);
  const size_t turn = SOME + 11025;
  assert_int_equal(count, 200000);
  for (size_t k = 1; k < 4; ++k) {
    assert_memory_equal(samples, samples + k * turn, SOME * sizeof(float));
  }
  for (size_t i = SOME; i < turn; ++i) {
    assert_true(fabsf(samples[i]) <= 0.0f);
  }
  free(samples);
}

static void
what_was_written_comes_after_it(void** const state)
{
  (void)state;
  const SrStretchOrder order = order_of(true, true, false);
  const SrStretchOrder alone = order_of(false, true, false);
  size_t count = 0;
  size_t written = 0;
  float* const samples = all(&order, 2000000, &count);
  float* const second = all(&alone, 2000000, &written);
  // Six crotchets at 120 a minute, and half a second at the end
  assert_int_equal(written, (size_t)lround(3.5 * RATE));
  assert_int_equal(count, SOME + 11025 + written);
  assert_memory_equal(samples + SOME + 11025, second, written * sizeof(float));
  free(second);
  free(samples);
}

static void
it_is_as_long_as_it_is_slow(void** const state)
{
  (void)state;
  SrStretchOrder order = order_of(true, false, false);
  size_t count = 0;
  order.speed = 0.5;
  if (!sr_slow_is_built()) {
    skip();
  }
  free(all(&order, 200000, &count));
  assert_int_equal(count, 2 * SOME);
}

static void
a_stretch_after_the_end_is_silent_and_ends(void** const state)
{
  (void)state;
  SrStretchOrder order = order_of(true, false, true);
  size_t count = 0;
  order.from_s = 1000.0;
  order.to_s = 1001.0;
  order.pause_s = 0.0;
  free(all(&order, 2000000, &count));
  assert_int_equal(count, 0);
}

static void
places_follow_the_turn(void** const state)
{
  (void)state;
  const SrStretchTurn turn = {.recorded_s = 2.0, .written_s = 3.0, .pause_s = 1.0};
  SrStretchOrder order = order_of(true, true, true);
  order.speed = 0.5;
  SrStretchPlace place = sr_stretch_turn_place(&turn, 1.0, &order, 120.0, 0.25);
  assert_true(place.sounds && isnan(place.written));
  expect_near(place.recording_s, 1.5, 1e-9);
  place = sr_stretch_turn_place(&turn, 2.5, &order, 120.0, 0.25);
  assert_false(place.sounds);
  // One second at 60 crotchets a minute, half of 120, is a crotchet
  place = sr_stretch_turn_place(&turn, 4.0, &order, 120.0, 0.25);
  assert_true(place.sounds && isnan(place.recording_s));
  expect_near(place.written, 0.25, 1e-9);
  assert_false(sr_stretch_turn_place(&turn, 6.5, &order, 120.0, 0.25).sounds);
  expect_near(sr_stretch_turn_place(&turn, 8.0, &order, 120.0, 0.25).recording_s, 1.5, 1e-9);
  order.again = false;
  assert_false(sr_stretch_turn_place(&turn, 6.1, &order, 120.0, 0.25).sounds);
  assert_false(sr_stretch_turn_place(&turn, (double)NAN, &order, 120.0, 0.25).sounds);
}

static void
a_missing_recording_is_told(void** const state)
{
  (void)state;
  SrStretchOrder order = order_of(true, false, false);
  SrError error = {0};
  order.path = "/nowhere/at-all.flac";
  assert_null(sr_stretch_sound_new(&order, RATE, &error));
  assert_int_equal(error.status, SR_NOT_FOUND);
}

static int
prepare(void** const state)
{
  (void)state;
  static const char text[] = "X:1\nT:Six\nM:3/4\nL:1/4\nQ:1/4=120\nK:D\nABA|FGF|\n";
  return sr_phrase_read_text(text, strlen(text), "six", NULL, &chosen.phrase, NULL) == SR_OK ? 0
                                                                                             : -1;
}

static int
clean_up(void** const state)
{
  (void)state;
  sr_phrase_del(chosen.phrase);
  return 0;
}

int
main(const int count, char** const arguments)
{
  take = count > 1 ? arguments[1] : "";
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_stretch_is_that_of_the_recording),
      cmocka_unit_test(it_comes_again_after_a_pause),
      cmocka_unit_test(what_was_written_comes_after_it),
      cmocka_unit_test(it_is_as_long_as_it_is_slow),
      cmocka_unit_test(a_stretch_after_the_end_is_silent_and_ends),
      cmocka_unit_test(places_follow_the_turn),
      cmocka_unit_test(a_missing_recording_is_told),
  };
  return cmocka_run_group_tests(tests, prepare, clean_up);
}
