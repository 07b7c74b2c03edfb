// SPDX-License-Identifier: GPL-3.0-or-later

/**
   @file test_reference_pictures.c
   Every kind of picture looks as its reference does. What a player would see is found, what comes
   of another version of Cairo is not.

   usage: test_reference_pictures FONTS.conf REFERENCES FOLDER

   Where a picture differs, it is written to FOLDER beside its reference. If the change is meant,
   draw the references again with `meson compile -C build references`, and look at them.
*/

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <setjmp.h>

#include <cmocka.h>

#include "picture_compare.h"
#include "reference_pictures.h"
#include "reference_round.h"

#include "show/round_layout.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char* references;
static const char* folder;
static bool has_font;

static const DrawnHow AS_IT_IS = {0};

/// Skip a test on a machine without the font.
static void
need_font(void)
{
  if (!has_font) {
    print_message("fonts-dejavu-core is not installed: not checked\n");
    skip();
  }
}

/// `folder/BEFORE-NAME.png` or, without `before`, `folder/NAME.png`; free() it.
static char*
path_of(const char* const in, const char* const before, const char* const name)
{
  char* path = NULL;
  assert_true(asprintf(&path, "%s/%s%s%s.png", in, before, *before ? "-" : "", name) > 0);
  return path;
}

/// Largest references: they are kept for good.
#define MOST_WIDTH 600
#define MOST_BYTES (48L * 1024L)

static cairo_surface_t*
reference_of(const char* const name)
{
  char* const path = path_of(references, "", name);
  struct stat file;
  if (stat(path, &file) == 0 && file.st_size > MOST_BYTES) {
    fail_msg("%s is too large", path);
  }
  cairo_surface_t* const surface = picture_read(path);
  if (!surface) {
    print_error("%s cannot be read\n", path);
  } else {
    assert_true(cairo_image_surface_get_width(surface) <= MOST_WIDTH);
  }
  free(path);
  return surface;
}

// As the references ------------------------------------------------------------------------------

/// Write what differs and say where, or remove what an earlier run wrote.
static void
show_difference(const char* const name, const bool same, cairo_surface_t* const picture,
                cairo_surface_t* const reference)
{
  char* const path = path_of(folder, "different", name);
  if (same) {
    (void)unlink(path);
    free(path);
    return;
  }
  const bool written = picture_write_both(path, picture, reference);
  print_error("%s: %s %s: the picture, its reference, their difference\n", name,
              written ? "see" : "cannot write", path);
  free(path);
}

static void
pictures_are_as_their_references(void** const state)
{
  (void)state;
  need_font();
  size_t different = 0;
  for (size_t i = 0; i < reference_picture_count; ++i) {
    const char* const name = reference_pictures[i].name;
    cairo_surface_t* const picture = reference_draw(i, &AS_IT_IS);
    cairo_surface_t* const reference = reference_of(name);
    const PictureDistance distance =
        reference ? picture_distance(picture, reference) : (PictureDistance){0};
    print_message("%-22s worst block %5.2f at %3d, %3d, mean %6.4f (limits %.2f, %.2f)\n", name,
                  distance.worst, distance.left, distance.top, distance.mean, PICTURE_WORST_LIMIT,
                  PICTURE_MEAN_LIMIT);
    const bool same = picture_is_same(&distance);
    show_difference(name, same, picture, reference);
    different += !same;
    cairo_surface_destroy(picture);
    cairo_surface_destroy(reference);
  }
  assert_int_equal(different, 0);
}

// What is tolerated ------------------------------------------------------------------------------

static void
small_differences_are_tolerated(void** const state)
{
  (void)state;
  need_font();
  static const struct {
    const char* name;
    DrawnHow how;
  } WAYS[] = {
      {"0.3 px right", {.right = 0.3}},
      {"0.3 px left", {.right = -0.3}},
      {"0.3 px down", {.down = 0.3}},
      {"0.3 px both ways", {.right = 0.3, .down = -0.3}},
      {"antialias fast", {.antialias = CAIRO_ANTIALIAS_FAST}},
      {"antialias good", {.antialias = CAIRO_ANTIALIAS_GOOD}},
      {"antialias best", {.antialias = CAIRO_ANTIALIAS_BEST}},
  };
  size_t refused = 0;
  cairo_surface_t** const as_it_is =
      (cairo_surface_t**)calloc(reference_picture_count, sizeof(cairo_surface_t*));
  assert_non_null(as_it_is);
  for (size_t i = 0; i < reference_picture_count; ++i) {
    as_it_is[i] = reference_draw(i, &AS_IT_IS);
  }
  for (size_t w = 0; w < sizeof(WAYS) / sizeof(WAYS[0]); ++w) {
    double worst = 0.0;
    double mean = 0.0;
    for (size_t i = 0; i < reference_picture_count; ++i) {
      cairo_surface_t* const other = reference_draw(i, &WAYS[w].how);
      const PictureDistance distance = picture_distance(as_it_is[i], other);
      if (!picture_is_same(&distance)) {
        print_error("%s, %s: %.2f, %.4f\n", reference_pictures[i].name, WAYS[w].name,
                    distance.worst, distance.mean);
        ++refused;
      }
      worst = distance.worst > worst ? distance.worst : worst;
      mean = distance.mean > mean ? distance.mean : mean;
      cairo_surface_destroy(other);
    }
    print_message("tolerated: %-16s of %zu pictures, worst block %5.2f, mean %6.4f\n", WAYS[w].name,
                  reference_picture_count, worst, mean);
  }
  for (size_t i = 0; i < reference_picture_count; ++i) {
    cairo_surface_destroy(as_it_is[i]);
  }
  free((void*)as_it_is);
  assert_int_equal(refused, 0);
}

// What is found ----------------------------------------------------------------------------------

/// As a change's note: all of the picture is drawn again.
#define ALL_NOTES SIZE_MAX

/// A change that a player would see.
typedef struct {
  const char* name;
  void (*make)(SrRoundPicture* picture);
  size_t note; ///< Only what is at this note, in the line, is drawn again
  DrawnHow how;
} Change;

static void
leave_out_tick(SrRoundPicture* const picture)
{
  picture->content.notes[REFERENCE_CLEAN_CUT].cut = SR_SEEN_NO_CUT;
}

static void
leave_out_bar(SrRoundPicture* const picture)
{
  picture->content.notes[REFERENCE_JOINED].joined = false;
}

static void
leave_out_name(SrRoundPicture* const picture)
{
  picture->content.strokes[REFERENCE_PRESSED].name = "";
}

static void
swap_colours(SrRoundPicture* const picture)
{
  const SrColour draw = picture->theme.draw;
  picture->theme.plain = draw;
  picture->theme.draw = picture->theme.press;
  picture->theme.press = draw;
}

static void
make_faults_plain(SrRoundPicture* const picture)
{
  picture->theme.fault = picture->theme.plain;
}

static void
leave_as_it_is(SrRoundPicture* const picture)
{
  (void)picture;
}

static const Change CHANGES[] = {
    {.name = "a cut's tick missing", .make = leave_out_tick, .note = ALL_NOTES},
    {.name = "a note in another colour", .make = swap_colours, .note = REFERENCE_PRESSED},
    {.name = "a joined bar missing", .make = leave_out_bar, .note = ALL_NOTES},
    {.name = "a name missing", .make = leave_out_name, .note = ALL_NOTES},
    {.name = "moved 3 px right", .make = leave_as_it_is, .note = ALL_NOTES, .how = {.right = 3.0}},
    {.name = "moved 3 px down", .make = leave_as_it_is, .note = ALL_NOTES, .how = {.down = 3.0}},
    {.name = "a long cut in the plain colour", .make = make_faults_plain, .note = REFERENCE_LONG},
    {.name = "a joined bar in the plain colour",
     .make = make_faults_plain,
     .note = REFERENCE_JOINED},
    {.name = "an absent cut in the plain colour",
     .make = make_faults_plain,
     .note = REFERENCE_ABSENT},
    {.name = "a missed note in the plain colour",
     .make = make_faults_plain,
     .note = REFERENCE_MISSED},
    {.name = "a wrong note in the plain colour",
     .make = make_faults_plain,
     .note = REFERENCE_WRONG},
    {.name = "an extra note in the plain colour",
     .make = make_faults_plain,
     .note = REFERENCE_EXTRA},
    {.name = "a stray cut in the plain colour", .make = make_faults_plain, .note = REFERENCE_STRAY},
};

/// Clip to a note and what is above and below it, without the names.
static void
clip_to_note(cairo_t* const cairo, const SrRoundPicture* const picture, const size_t note)
{
  const SrDrawnStroke* const stroke = &picture->content.strokes[note];
  size_t line_index = 0;
  while (line_index + 1 < picture->system_count &&
         picture->systems[line_index].to <= stroke->start) {
    ++line_index;
  }
  const SrRoundLine line = sr_round_line(picture, NULL, line_index, REFERENCE_PAD, REFERENCE_PAD);
  const double left = sr_bellows_x(&line.box, stroke->start);
  const double right = sr_bellows_x(&line.box, stroke->start + stroke->length);
  cairo_rectangle(cairo, left, line.box.area.top, right - left, line.box.area.height);
  cairo_clip(cairo);
}

static cairo_surface_t*
draw_changed(const ReferenceRound* const round, const bool planned, const bool dark,
             const Change* const change)
{
  const SrRoundStyle style = {.dark = dark};
  SrRoundPicture* const picture =
      reference_round_picture(round, planned, &style, SR_REACHED_ALL, 0, 0);
  ReferenceCanvas canvas = {.how = change ? change->how : AS_IT_IS};
  reference_begin_round(&canvas, sr_round_picture_height(picture), dark);
  for (int pass = change && change->note != ALL_NOTES ? 0 : 1; pass < 2; ++pass) {
    if (pass && change) {
      if (change->note != ALL_NOTES) {
        double red;
        double green;
        double blue;
        clip_to_note(canvas.cairo, picture, change->note);
        sr_round_paper(dark, &red, &green, &blue);
        cairo_set_source_rgb(canvas.cairo, red, green, blue);
        cairo_paint(canvas.cairo);
      }
      change->make(picture);
    }
    assert_int_equal(sr_round_picture_draw(picture, canvas.cairo, REFERENCE_PAD, REFERENCE_PAD),
                     SR_OK);
  }
  sr_round_picture_del(picture);
  return reference_end(&canvas);
}

static void
changes_are_found(void** const state)
{
  (void)state;
  need_font();
  ReferenceRound* const round = reference_round_new();
  size_t missed = 0;
  cairo_surface_t* right[4];
  for (int kind = 0; kind < 4; ++kind) {
    right[kind] = draw_changed(round, kind / 2, kind % 2, NULL);
  }
  for (size_t c = 0; c < sizeof(CHANGES) / sizeof(CHANGES[0]); ++c) {
    PictureDistance least = {0};
    for (int kind = 0; kind < 4; ++kind) {
      const bool planned = kind / 2;
      const bool dark = kind % 2;
      cairo_surface_t* const changed = draw_changed(round, planned, dark, &CHANGES[c]);
      const PictureDistance distance = picture_distance(right[kind], changed);
      if (picture_is_same(&distance)) {
        print_error("not found: %s, %s, %s\n", CHANGES[c].name, planned ? "planned" : "pitch",
                    dark ? "dark" : "light");
        ++missed;
      }
      if (!kind || distance.worst < least.worst) {
        least = distance;
      }
      cairo_surface_destroy(changed);
    }
    print_message("found: %-34s worst block %5.2f or more, mean %6.4f\n", CHANGES[c].name,
                  least.worst, least.mean);
  }
  for (int kind = 0; kind < 4; ++kind) {
    cairo_surface_destroy(right[kind]);
  }
  reference_round_del(round);
  assert_int_equal(missed, 0);
}

/// Also those that are scaled down.
static void
a_move_is_found_in_every_picture(void** const state)
{
  (void)state;
  need_font();
  static const DrawnHow MOVED[] = {{.right = 3.0}, {.down = 3.0}};
  for (size_t i = 0; i < reference_picture_count; ++i) {
    cairo_surface_t* const picture = reference_draw(i, &AS_IT_IS);
    for (int way = 0; way < 2; ++way) {
      cairo_surface_t* const other = reference_draw(i, &MOVED[way]);
      const PictureDistance distance = picture_distance(picture, other);
      print_message("moved 3 px %-5s %-22s worst block %5.2f, mean %6.4f\n", way ? "down" : "right",
                    reference_pictures[i].name, distance.worst, distance.mean);
      assert_false(picture_is_same(&distance));
      cairo_surface_destroy(other);
    }
    cairo_surface_destroy(picture);
  }
}

// What is written --------------------------------------------------------------------------------

static uint32_t
pixel_of(cairo_surface_t* const surface, const int x, const int y)
{
  uint32_t pixel = 0;
  memcpy(&pixel,
         cairo_image_surface_get_data(surface) +
             (ptrdiff_t)y * cairo_image_surface_get_stride(surface) + 4 * (ptrdiff_t)x,
         sizeof(pixel));
  return pixel & 0xFFFFFFu;
}

static cairo_surface_t*
plain_picture(const double grey, const int spot)
{
  cairo_surface_t* const surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 40, 30);
  cairo_t* const cairo = cairo_create(surface);
  cairo_set_source_rgb(cairo, grey, grey, grey);
  cairo_paint(cairo);
  cairo_set_source_rgb(cairo, 0.0, 0.0, 0.0);
  cairo_rectangle(cairo, spot, spot, 8.0, 8.0);
  cairo_fill(cairo);
  cairo_destroy(cairo);
  return surface;
}

static void
what_differs_is_written(void** const state)
{
  (void)state;
  cairo_surface_t* const picture = plain_picture(1.0, 10);
  cairo_surface_t* const reference = plain_picture(1.0, 100); // no spot
  const PictureDistance distance = picture_distance(picture, reference);
  assert_false(picture_is_same(&distance));
  // The worst block covers the spot
  assert_true(distance.left <= 10 && distance.left + PICTURE_BLOCK >= 18);
  assert_true(distance.top <= 10 && distance.top + PICTURE_BLOCK >= 18);
  char* const path = path_of(folder, "example", "difference");
  assert_true(picture_write_both(path, picture, reference));
  cairo_surface_t* const sheet = picture_read(path);
  assert_non_null(sheet);
  assert_int_equal(cairo_image_surface_get_height(sheet), 30);
  assert_int_equal(cairo_image_surface_get_width(sheet), 3 * 40 + 2 * 8);
  assert_int_equal(pixel_of(sheet, 14, 14), 0);
  assert_int_equal(pixel_of(sheet, 48 + 14, 14), 0xFFFFFF);
  assert_int_equal(pixel_of(sheet, 96 + 14, 14), 0);
  assert_int_equal(pixel_of(sheet, 96 + 35, 25), 0xFFFFFF);
  assert_int_equal(unlink(path), 0);
  // Without a reference, and of another size
  assert_true(picture_write_both(path, picture, NULL));
  assert_int_equal(unlink(path), 0);
  assert_true(picture_write_both(path, picture, sheet));
  const PictureDistance sizes = picture_distance(picture, sheet);
  assert_false(picture_is_same(&sizes));
  assert_int_equal(unlink(path), 0);
  cairo_surface_destroy(sheet);
  cairo_surface_destroy(picture);
  cairo_surface_destroy(reference);
  free(path);
}

int
main(const int argc, char** const argv)
{
  if (argc != 4) {
    return 2;
  }
  has_font = reference_fonts(argv[1]);
  references = argv[2];
  folder = argv[3];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pictures_are_as_their_references),
      cmocka_unit_test(small_differences_are_tolerated),
      cmocka_unit_test(changes_are_found),
      cmocka_unit_test(a_move_is_found_in_every_picture),
      cmocka_unit_test(what_differs_is_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
