// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file extent.h
   Which tests of a group are run: those whose names begin with "long_" belong to the suite `long`.
*/

#ifndef SR_TESTS_EXTENT_H
#define SR_TESTS_EXTENT_H

// cmocka.h wants these before it
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

/**
   Call before the group is run.

   @param argc, argv Of main(). With the last argument "quick" the long tests are left out, with
                     "long" only they are run; with another all are.
*/
static inline void
sr_test_extent(const int argc, char** const argv)
{
  const char* const extent = argv[argc - 1];
  if (!strcmp(extent, "quick")) {
    cmocka_set_skip_filter("long_*");
  } else if (!strcmp(extent, "long")) {
    cmocka_set_test_filter("long_*");
  }
}

#endif // SR_TESTS_EXTENT_H
