// SPDX-License-Identifier: GPL-3.0-or-later

// What the tuner and the setup of the window say, without a window.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "setup_words.h"
#include "tuner_reading.h"

#include <math.h>
#include <string.h>

static void
expect_reading(const double hz, const double reference_hz, const char* const words)
{
  const SrTunerReading reading = sr_tuner_read(hz, reference_hz);
  char* const said = sr_tuner_words(&reading);
  assert_string_equal(said, words);
  g_free(said);
}

/// Equal temperament: a semitone is a factor of 2^(1/12), a cent one of 2^(1/1200).
static void
pitches_have_names(void** const state)
{
  (void)state;
  expect_reading(440.0, 440.0, "A4, in tune");
  expect_reading(440.0 * exp2(1.0 / 1200.0), 440.0, "A4, 1 cent sharp");
  expect_reading(440.0 * exp2(-0.4 / 1200.0), 440.0, "A4, in tune");
  expect_reading(440.0 * exp2(49.0 / 1200.0), 440.0, "A4, 49 cents sharp");
  expect_reading(440.0 * exp2(51.0 / 1200.0), 440.0, "A♯4, 49 cents flat");
  // C4 is nine semitones under A4
  expect_reading(261.6256, 440.0, "C4, in tune");
  expect_reading(440.0, 443.0, "A4, 12 cents flat");
  expect_reading(0.0, 440.0, "Hold a note");
  expect_reading(-1.0, 440.0, "Hold a note");
  expect_reading((double)NAN, 440.0, "Hold a note");
  expect_reading((double)INFINITY, 440.0, "Hold a note");
  expect_reading(1e-3, 440.0, "Hold a note");
}

/// It is drawn again only where a player would see a difference.
static void
readings_look_the_same(void** const state)
{
  (void)state;
  const SrTunerReading reading = {69, 3.2, 440.81};
  const SrTunerReading cents = {69, 3.6, 440.81};
  const SrTunerReading hertz = {69, 3.2, 440.91};
  const SrTunerReading note = {70, 3.2, 440.81};
  const SrTunerReading alike = {69, 3.4, 440.84};
  assert_true(sr_tuner_same(&reading, &alike));
  assert_false(sr_tuner_same(&reading, &cents));
  assert_false(sr_tuner_same(&reading, &hertz));
  assert_false(sr_tuner_same(&reading, &note));
}

static void
expect_found(const SrSetupFound found, const char* const part)
{
  SrSetup setup = {.round_trip_s = (double)NAN};
  setup.profile = found.step == SR_SETUP_REEDS ? sr_profile_new(443.0) : NULL;
  char* const words = sr_setup_found_words(&found, &setup);
  if (!strstr(words, part)) {
    fail_msg("\"%s\" is not in \"%s\"", part, words);
  }
  g_free(words);
  sr_setup_clear(&setup);
}

static void
what_was_found_is_said(void** const state)
{
  (void)state;
  SrSetupFound room = {.step = SR_SETUP_ROOM,
                       .outcome = SR_SETUP_MEASURED,
                       .floor_dbfs = -62.3,
                       .loudness = SR_SETUP_LOUD_GOOD};
  expect_found(room, "quiet enough, 62\u00A0dB below full scale. Your loudest is good.");
  room.floor_high = true;
  expect_found(room, "The room is noisy");
  room.loudness = SR_SETUP_OVERDRIVEN;
  expect_found(room, "turn it down");
  room.loudness = SR_SETUP_NOT_HEARD;
  expect_found(room, "is this the right microphone?");
  room.loudness = SR_SETUP_SOFT;
  expect_found(room, "turn the microphone up");
  room.outcome = SR_SETUP_NOTHING;
  expect_found(room, "gives nothing at all");
  SrSetupFound trip = {.step = SR_SETUP_ROUND_TRIP,
                       .outcome = SR_SETUP_MEASURED,
                       .round_trip_s = 0.0213,
                       .round_trip_spread_s = 0.0004,
                       .round_trip_steady = true};
  expect_found(trip, "takes 21.3\u00A0ms to reach the microphone, give or take 0.4.");
  trip.round_trip_steady = false;
  trip.round_trip_spread_s = 0.012;
  expect_found(trip, "differ by 12\u00A0ms: too much");
  trip.outcome = SR_SETUP_NOTHING;
  expect_found(trip, "were not heard each time");
  SrSetupFound reeds = {.step = SR_SETUP_REEDS, .outcome = SR_SETUP_MEASURED};
  expect_found(reeds, "your A is 443.0\u00A0Hz");
  reeds.outcome = SR_SETUP_NOTHING;
  expect_found(reeds, "No note was heard");
  SrSetupFound bellows = {.step = SR_SETUP_BELLOWS, .outcome = SR_SETUP_MEASURED};
  // 120 units from shut to full
  bellows.bellows.at_a4 = 10.0;
  expect_found(bellows, "last 12.0\u00A0seconds");
  bellows.outcome = SR_SETUP_NOTHING;
  expect_found(bellows, "No note was held for 3\u00A0seconds");
}

/// A sound that may be loud comes after a caution.
static void
ticks_come_with_a_caution(void** const state)
{
  (void)state;
  for (int step = 0; step < (int)SR_SETUP_STEPS; ++step) {
    assert_int_equal(sr_setup_caution((SrSetupStep)step) != NULL, step == SR_SETUP_ROUND_TRIP);
    assert_true(strlen(sr_setup_task((SrSetupStep)step)) > 0);
    assert_true(strlen(sr_setup_detail((SrSetupStep)step)) > 0);
    assert_true(strlen(sr_setup_title((SrSetupStep)step)) > 0);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pitches_have_names),
      cmocka_unit_test(readings_look_the_same),
      cmocka_unit_test(what_was_found_is_said),
      cmocka_unit_test(ticks_come_with_a_caution),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
