// SPDX-License-Identifier: GPL-3.0-or-later

// Sharps and flats for fonts that have none.

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "show/plain_signs.h"

#include <stdlib.h>

static void
signs_become_plain(void** const state)
{
  (void)state;
  static const char* const PAIRS[][2] = {
      {"F♯5", "F#5"}, {"B♭", "Bb"}, {"♮♯♭", "=#b"}, {"", ""}, {"Ὀρφεύς ♩", "Ὀρφεύς ♩"}, {"♯", "#"}};
  for (size_t i = 0; i < sizeof(PAIRS) / sizeof(PAIRS[0]); ++i) {
    char* const plain = sr_plain_signs(PAIRS[i][0]);
    assert_string_equal(plain, PAIRS[i][1]);
    assert_false(sr_has_signs(plain));
    free(plain);
  }
  assert_true(sr_has_signs("F♯5"));
  assert_true(sr_has_signs("B♭"));
  assert_false(sr_has_signs("F#5 b"));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(signs_become_plain)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
