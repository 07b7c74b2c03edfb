// SPDX-License-Identifier: GPL-3.0-or-later

// Lines on pages.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "show/page_share.h"

#include <math.h>

#define LINES 6

static void
lines_fill_pages_in_order(void** const state)
{
  (void)state;
  const SrPageLine lines[LINES] = {{10.0, true},  {10.0, false}, {10.0, false},
                                   {10.0, false}, {10.0, false}, {10.0, false}};
  const SrPageRoom room = {.first = 32.0, .other = 21.0, .between = 1.0, .last = 0.0};
  size_t firsts[LINES + 2];
  double left = 0.0;
  assert_int_equal(sr_page_share(lines, LINES, &room, firsts, &left), 3);
  assert_int_equal(firsts[0], 0);
  assert_int_equal(firsts[1], 3);
  assert_int_equal(firsts[2], 5);
  assert_int_equal(firsts[3], LINES);
  assert_true(fabs(left - 11.0) < 1e-9);
}

/// A part that has room on the second page begins there, unless all is on the first.
static void
a_part_turns_the_page(void** const state)
{
  (void)state;
  const SrPageLine lines[LINES] = {{10.0, true},  {10.0, false}, {10.0, true},
                                   {10.0, false}, {10.0, false}, {10.0, false}};
  SrPageRoom room = {.first = 45.0, .other = 45.0, .between = 1.0, .last = 0.0};
  size_t firsts[LINES + 2];
  double left = 0.0;
  assert_int_equal(sr_page_share(lines, LINES, &room, firsts, &left), 2);
  assert_int_equal(firsts[1], 2);
  room.last = 10.0; // The rest no longer has room there with what follows
  assert_int_equal(sr_page_share(lines, LINES, &room, firsts, &left), 2);
  assert_int_equal(firsts[1], 4);
  room.last = 0.0;
  room.first = 65.0;
  assert_int_equal(sr_page_share(lines, LINES, &room, firsts, &left), 1);
  assert_true(fabs(left) < 1e-9);
}

/// A line taller than a page has a page of its own.
static void
a_tall_line_ends(void** const state)
{
  (void)state;
  const SrPageLine lines[3] = {{10.0, true}, {100.0, false}, {10.0, false}};
  const SrPageRoom room = {.first = 45.0, .other = 45.0, .between = 1.0, .last = 0.0};
  size_t firsts[5];
  double left = 0.0;
  assert_int_equal(sr_page_share(lines, 3, &room, firsts, &left), 3);
  assert_int_equal(firsts[1], 1);
  assert_int_equal(firsts[2], 2);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lines_fill_pages_in_order),
      cmocka_unit_test(a_part_turns_the_page),
      cmocka_unit_test(a_tall_line_ends),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
