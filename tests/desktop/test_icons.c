// SPDX-License-Identifier: GPL-3.0-or-later

// The icons, as the desktop reads them: found to be pictures by their first bytes, and drawn so
// that their parts can be told apart. A part of a picture that carries meaning has a contrast of 3
// : 1 or more to what is beside it: Web Content Accessibility Guidelines 2.1, success
// criterion 1.4.11; contrast and relative luminance as defined there.

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#define LEAST_CONTRAST 3.0

static const char* colour_path;
static const char* symbolic_path;

typedef struct {
  double red;
  double green;
  double blue;
} Colour;

static const Colour white = {1.0, 1.0, 1.0};
/// The ground of libadwaita's dark windows, #242424.
static const Colour dark = {0.141, 0.141, 0.141};

/// Skip the test where nothing is installed that draws SVG.
static void
need_svg(void)
{
  GSList* const formats = gdk_pixbuf_get_formats();
  bool found = false;
  for (const GSList* at = formats; at; at = at->next) {
    char* const name = gdk_pixbuf_format_get_name((GdkPixbufFormat*)at->data);
    found = found || !g_strcmp0(name, "svg");
    g_free(name);
  }
  g_slist_free(formats);
  if (!found) {
    skip();
  }
}

static GdkPixbuf*
draw(const char* const path, const int size)
{
  GError* error = NULL;
  GdkPixbuf* const picture = gdk_pixbuf_new_from_file_at_size(path, size, size, &error);
  if (!picture) {
    fail_msg("%s: %s", path, error->message);
  }
  assert_int_equal(gdk_pixbuf_get_width(picture), size);
  assert_int_equal(gdk_pixbuf_get_height(picture), size);
  assert_true(gdk_pixbuf_get_has_alpha(picture));
  return picture;
}

/// The pixel at a place in sixteenths of the picture, over a ground.
static Colour
pixel(const GdkPixbuf* const picture, const double x, const double y, const Colour ground)
{
  const int size = gdk_pixbuf_get_width(picture);
  const size_t row = (size_t)(y / 16.0 * size);
  const size_t column = (size_t)(x / 16.0 * size);
  const guint8* const at = gdk_pixbuf_read_pixels(picture) +
                           row * (size_t)gdk_pixbuf_get_rowstride(picture) + 4 * column;
  const double cover = at[3] / 255.0;
  return (Colour){cover * at[0] / 255.0 + (1.0 - cover) * ground.red,
                  cover * at[1] / 255.0 + (1.0 - cover) * ground.green,
                  cover * at[2] / 255.0 + (1.0 - cover) * ground.blue};
}

static double
linear(const double value)
{
  return value <= 0.03928 ? value / 12.92 : pow((value + 0.055) / 1.055, 2.4);
}

static double
luminance(const Colour colour)
{
  return 0.2126 * linear(colour.red) + 0.7152 * linear(colour.green) + 0.0722 * linear(colour.blue);
}

static double
contrast(const Colour one, const Colour other)
{
  const double a = luminance(one) + 0.05;
  const double b = luminance(other) + 0.05;
  return a > b ? a / b : b / a;
}

/// A place on each button, the rail and the air button, and one beside it on the end, in
/// sixteenths.
static const double colour_parts[][4] = {
    {5.0, 4.0, 6.5, 4.0}, {8.0, 3.0, 6.5, 4.0},  {11.0, 4.0, 9.5, 4.0}, {5.0, 7.0, 6.5, 7.0},
    {8.0, 6.0, 6.5, 7.0}, {11.0, 7.0, 9.5, 7.0}, {6.0, 10.0, 7.5, 8.5}, {11.0, 10.0, 9.5, 10.0},
};

static void
test_parts_stand_out_at_each_size(void** const state)
{
  (void)state;
  static const int sizes[] = {16, 32, 128};
  need_svg();
  for (size_t s = 0; s < sizeof(sizes) / sizeof(sizes[0]); ++s) {
    GdkPixbuf* const picture = draw(colour_path, sizes[s]);
    double least = INFINITY;
    for (size_t i = 0; i < sizeof(colour_parts) / sizeof(colour_parts[0]); ++i) {
      const double* const part = colour_parts[i];
      const double here = contrast(pixel(picture, part[0] - 0.01, part[1] - 0.01, white),
                                   pixel(picture, part[2], part[3], white));
      least = fmin(least, here);
    }
    print_message("%d pixels: parts to the end %.1f : 1 at least; aim 3, limit 3\n", sizes[s],
                  least);
    assert_true(least >= LEAST_CONTRAST);
    g_object_unref(picture);
  }
}

static void
test_it_stands_out_on_light_and_dark(void** const state)
{
  (void)state;
  need_svg();
  GdkPixbuf* const picture = draw(colour_path, 32);
  const Colour end = pixel(picture, 3.0, 7.0, white);
  const Colour rim = pixel(picture, 8.0, 1.0, white);
  const double on_white = contrast(end, white);
  const double on_dark = contrast(rim, dark);
  print_message("the end on white %.1f : 1, its rim on dark %.1f : 1; aim 3, limit 3\n", on_white,
                on_dark);
  assert_true(on_white >= LEAST_CONTRAST);
  assert_true(on_dark >= LEAST_CONTRAST);
  // Nothing behind it, so that it takes the ground it stands on
  assert_true(contrast(pixel(picture, 0.1, 0.1, dark), dark) < 1.01);
  g_object_unref(picture);
}

/// A symbolic icon is given the colour of the text, whatever colour it has: only what it covers
/// counts, and at 16 pixels its holes are whole pixels.
static void
test_symbolic_icon_is_one_colour_with_holes(void** const state)
{
  (void)state;
  static const int holes[][2] = {{4, 4},  {7, 3},  {10, 4}, {4, 7},  {7, 6},
                                 {10, 7}, {4, 11}, {6, 11}, {10, 11}};
  need_svg();
  GdkPixbuf* const picture = draw(symbolic_path, 16);
  const guint8* const pixels = gdk_pixbuf_read_pixels(picture);
  const size_t stride = (size_t)gdk_pixbuf_get_rowstride(picture);
  for (size_t y = 0; y < 16; ++y) {
    for (size_t x = 0; x < 16; ++x) {
      const guint8* const at = pixels + y * stride + 4 * x;
      // Where it is covered in part, its colour is known but roughly
      assert_true(at[3] < 255 || (at[0] == 0x2e && at[1] == 0x34 && at[2] == 0x36));
    }
  }
  for (size_t i = 0; i < sizeof(holes) / sizeof(holes[0]); ++i) {
    for (size_t y = 0; y < 2; ++y) {
      for (size_t x = 0; x < 2; ++x) {
        const size_t row = (size_t)holes[i][1] + y;
        const size_t column = (size_t)holes[i][0] + x;
        assert_int_equal(pixels[row * stride + 4 * column + 3], 0);
      }
    }
    // And something around them
    assert_int_equal(pixels[(size_t)(holes[i][1] - 1) * stride + 4 * (size_t)holes[i][0] + 3], 255);
  }
  g_object_unref(picture);
}

int
main(const int count, char** const arguments)
{
  if (count != 3) {
    (void)fprintf(stderr, "usage: test_icons ICON.svg ICON-symbolic.svg\n");
    return 2;
  }
  colour_path = arguments[1];
  symbolic_path = arguments[2];
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_parts_stand_out_at_each_size),
      cmocka_unit_test(test_it_stands_out_on_light_and_dark),
      cmocka_unit_test(test_symbolic_icon_is_one_colour_with_holes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
