// SPDX-License-Identifier: GPL-3.0-or-later

// The time of an item of the day, over sessions with rests between them.

#include "../../src/app/item_clock.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static bool
follow(SrItemClock* const clock, const SrSessionEventKind kind, const double at_s)
{
  const SrSessionEvent event = {.kind = kind, .at_s = at_s};
  return sr_item_clock_event(clock, &event, false);
}

static bool
follow_level(SrItemClock* const clock, const double at_s, const bool idle)
{
  const SrSessionEvent event = {.kind = SR_SESSION_LEVEL, .at_s = at_s, .level = {.idle = idle}};
  return sr_item_clock_event(clock, &event, false);
}

/// Check the time spent, rounded to seconds.
static void
assert_spent(const SrItemClock* const clock, const int seconds)
{
  assert_int_equal((int)(clock->spent_s + 0.5), seconds);
}

static void
a_session_counts_once(void** const state)
{
  (void)state;
  SrItemClock clock = {.most_s = 300.0};
  assert_false(follow(&clock, SR_SESSION_READY, 0.0));
  assert_false(follow_level(&clock, 100.0, true));
  assert_spent(&clock, 100);
  assert_false(follow(&clock, SR_SESSION_STOPPED, 180.0));
  assert_spent(&clock, 180);
  // The take is saved, and the session ends
  assert_false(follow(&clock, SR_SESSION_SAVED, 181.0));
  assert_false(follow(&clock, SR_SESSION_END, 181.0));
  assert_spent(&clock, 180);
  // After a rest
  assert_false(follow(&clock, SR_SESSION_READY, 0.0));
  assert_spent(&clock, 180);
  assert_false(follow_level(&clock, 119.0, true));
  assert_true(follow_level(&clock, 121.0, true));
  assert_spent(&clock, 301);
}

static void
a_round_is_not_broken_off(void** const state)
{
  (void)state;
  SrItemClock clock = {.most_s = 60.0};
  assert_false(follow(&clock, SR_SESSION_READY, 0.0));
  assert_false(follow(&clock, SR_SESSION_NOTE, 58.0));
  assert_false(follow_level(&clock, 70.0, true));
  assert_false(follow(&clock, SR_SESSION_ROUND, 80.0));
  assert_false(follow_level(&clock, 81.0, false));
  assert_true(follow_level(&clock, 82.0, true));
  // But not for longer than a minute
  assert_false(follow(&clock, SR_SESSION_NOTE, 83.0));
  assert_false(follow_level(&clock, 119.0, false));
  assert_true(follow_level(&clock, 121.0, false));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_session_counts_once),
      cmocka_unit_test(a_round_is_not_broken_off),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
