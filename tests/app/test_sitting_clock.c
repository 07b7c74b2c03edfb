// SPDX-License-Identifier: GPL-3.0-or-later

// The time that somebody sits and plays, without the rests, and the hour after which to rest.

#include "../../src/app/sitting_clock.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static void
assert_sat(const double sat_s, const int seconds)
{
  assert_int_equal((int)(sat_s + 0.5), seconds);
}

/// Short pauses belong to it, long ones do not.
static void
pauses_and_rests(void** const state)
{
  (void)state;
  SrSittingClock clock = {.sat_s = 0.0};
  assert_false(sr_sitting_clock_heard(&clock, 5000.0));
  assert_sat(clock.sat_s, 0);
  (void)sr_sitting_clock_heard(&clock, 5010.0);
  (void)sr_sitting_clock_heard(&clock, 5100.0);
  assert_sat(clock.sat_s, 100);
  (void)sr_sitting_clock_heard(&clock, 5100.0 + SR_SITTING_REST_S + 1.0);
  assert_sat(clock.sat_s, 100);
  (void)sr_sitting_clock_heard(&clock, 5100.0 + SR_SITTING_REST_S + 21.0);
  assert_sat(clock.sat_s, 120);
}

/// Once an hour, whoever plays a round of ten seconds every half a minute; also from what was
/// played before.
static void
once_an_hour(void** const state)
{
  (void)state;
  for (int before = 0; before <= 1800; before += 1800) {
    SrSittingClock clock = {.sat_s = before};
    unsigned told = 0;
    int first_s = -1;
    for (int at_s = 0; at_s <= 2 * 3600; at_s += 10) {
      if (at_s % 30 > 10 || !sr_sitting_clock_heard(&clock, at_s)) {
        continue;
      }
      ++told;
      first_s = first_s < 0 ? at_s : first_s;
    }
    assert_int_equal(told, 2);
    assert_int_equal(first_s, 3600 - before);
  }
}

/// Only what tells of notes counts.
static void
events(void** const state)
{
  (void)state;
  static const SrSessionEventKind other[] = {SR_SESSION_READY, SR_SESSION_LEVEL,
                                             SR_SESSION_COUNT_IN, SR_SESSION_SAVED};
  SrSittingClock clock = {.sat_s = 0.0};
  for (size_t i = 0; i < sizeof(other) / sizeof(other[0]); ++i) {
    const SrSessionEvent event = {.kind = other[i]};
    assert_false(sr_sitting_clock_event(&clock, &event));
    assert_false(clock.heard);
  }
  const SrSessionEvent note = {.kind = SR_SESSION_NOTE};
  assert_false(sr_sitting_clock_event(&clock, &note));
  assert_true(clock.heard);
}

/// The rounds of a history, in whatever order, also where two overlap.
static void
rounds_of_a_day(void** const state)
{
  (void)state;
  SrSittingRound rounds[] = {
      {1000.0, 1010.0}, {0.0, 20.0}, {40.0, 60.0}, {50.0, 70.0}, {1005.0, 1008.0}};
  assert_sat(sr_sitting_rounds_s(rounds, 5), 80);
  assert_sat(sr_sitting_rounds_s(NULL, 0), 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pauses_and_rests),
      cmocka_unit_test(once_an_hour),
      cmocka_unit_test(events),
      cmocka_unit_test(rounds_of_a_day),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
