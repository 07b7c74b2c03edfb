// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file make_references.c
   Draws the reference pictures again, after a change that is meant to be seen, as does
   `meson compile -C build references`. Look at each of them before it is committed.

   usage: make_references FONTS.conf FOLDER [NAME...]
*/

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "reference_pictures.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int count_given;
static char** given;

static bool
is_wanted(const char* const name)
{
  bool wanted = count_given < 4;
  for (int i = 3; i < count_given; ++i) {
    wanted = wanted || !strcmp(given[i], name);
  }
  return wanted;
}

// As a test, since what it draws is made with cmocka's assertions
static void
make_all(void** const state)
{
  (void)state;
  const DrawnHow how = {0};
  for (size_t i = 0; i < reference_picture_count; ++i) {
    char* path = NULL;
    if (!is_wanted(reference_pictures[i].name)) {
      continue;
    }
    assert_true(asprintf(&path, "%s/%s.png", given[2], reference_pictures[i].name) > 0);
    cairo_surface_t* const surface = reference_draw(i, &how);
    assert_int_equal(cairo_surface_write_to_png(surface, path), CAIRO_STATUS_SUCCESS);
    cairo_surface_destroy(surface);
    free(path);
  }
}

int
main(const int argc, char** const argv)
{
  count_given = argc;
  given = argv;
  if (argc < 3 || !reference_fonts(argv[1])) {
    fputs(argc < 3 ? "usage: make_references FONTS.conf FOLDER [NAME...]\n"
                   : "The references are drawn with fonts-dejavu-core, which is not installed.\n",
          stderr);
    return 2;
  }
  const struct CMUnitTest tests[] = {cmocka_unit_test(make_all)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
