// SPDX-License-Identifier: GPL-3.0-or-later

#include "picture_compare.h"

#include "colour_difference.h"

#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define BOX_PIXELS (PICTURE_BOX * PICTURE_BOX)
/// Between pictures side by side.
#define GAP 8
/// A difference that is shown black, CIEDE2000.
#define BLACK 20.0

/// Differences of all pixels.
typedef struct {
  int width;
  int height;
  double* pixels;
} Differences;

static uint32_t
pixel_at(cairo_surface_t* const surface, const int x, const int y)
{
  const unsigned char* const data = cairo_image_surface_get_data(surface);
  const size_t stride = (size_t)cairo_image_surface_get_stride(surface);
  uint32_t pixel = 0;
  memcpy(&pixel, data + (size_t)y * stride + 4 * (size_t)x, sizeof(pixel));
  return pixel & 0xFFFFFFu;
}

static int
inside(const int position, const int size)
{
  return position < 0 ? 0 : position >= size ? size - 1 : position;
}

/// A picture smoothed: for each pixel the sums of red, green and blue over its box.
typedef struct {
  int width;
  int height;
  unsigned (*sums)[3];
} Smooth;

/// Smooth a picture; at its edge, pixels repeat. Free its sums.
static Smooth
smooth(cairo_surface_t* const surface)
{
  Smooth made = {cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface),
                 NULL};
  made.sums = calloc((size_t)made.width * (size_t)made.height, sizeof(made.sums[0]));
  if (!made.sums) {
    abort();
  }
  cairo_surface_flush(surface);
  for (int y = 0; y < made.height; ++y) {
    for (int x = 0; x < made.width; ++x) {
      unsigned* const sums = made.sums[(size_t)y * (size_t)made.width + (size_t)x];
      for (int i = 0; i < BOX_PIXELS; ++i) {
        const int column = x + i % PICTURE_BOX - PICTURE_BOX / 2;
        const int row = y + i / PICTURE_BOX - PICTURE_BOX / 2;
        const uint32_t pixel =
            pixel_at(surface, inside(column, made.width), inside(row, made.height));
        sums[0] += pixel >> 16;
        sums[1] += pixel >> 8 & 0xFFu;
        sums[2] += pixel & 0xFFu;
      }
    }
  }
  return made;
}

static const unsigned*
sums_at(const Smooth* const picture, const int x, const int y)
{
  return picture->sums[(size_t)inside(y, picture->height) * (size_t)picture->width +
                       (size_t)inside(x, picture->width)];
}

static LabColour
lab_of(const unsigned sums[3])
{
  const double all = 255.0 * BOX_PIXELS;
  const LinearColour linear = {colour_linear(sums[0] / all), colour_linear(sums[1] / all),
                               colour_linear(sums[2] / all)};
  return colour_lab(&linear);
}

/// How far a pixel of one picture is from what another has within a pixel of it.
static double
difference_at(const Smooth* const one, const Smooth* const other, const int x, const int y)
{
  const unsigned* const seen = sums_at(one, x, y);
  unsigned near[3];
  if (!memcmp(seen, sums_at(other, x, y), sizeof(near))) {
    return 0.0;
  }
  for (int part = 0; part < 3; ++part) {
    unsigned least = UINT_MAX;
    unsigned most = 0;
    for (int i = 0; i < 9; ++i) {
      const unsigned value = sums_at(other, x + i % 3 - 1, y + i / 3 - 1)[part];
      least = value < least ? value : least;
      most = value > most ? value : most;
    }
    near[part] = seen[part] < least ? least : seen[part] > most ? most : seen[part];
  }
  if (!memcmp(seen, near, sizeof(near))) {
    return 0.0;
  }
  const LabColour first = lab_of(seen);
  const LabColour second = lab_of(near);
  return colour_difference(&first, &second);
}

/// Compare all pixels; false if the sizes differ. Free its pixels.
static bool
find_differences(cairo_surface_t* const one, cairo_surface_t* const other, Differences* const found)
{
  found->width = cairo_image_surface_get_width(one);
  found->height = cairo_image_surface_get_height(one);
  found->pixels = NULL;
  if (found->width < 1 || found->height < 1 ||
      found->width != cairo_image_surface_get_width(other) ||
      found->height != cairo_image_surface_get_height(other)) {
    return false;
  }
  const Smooth first = smooth(one);
  const Smooth second = smooth(other);
  found->pixels = calloc((size_t)found->width * (size_t)found->height, sizeof(double));
  if (!found->pixels) {
    abort();
  }
  for (int y = 0; y < found->height; ++y) {
    for (int x = 0; x < found->width; ++x) {
      found->pixels[(size_t)y * (size_t)found->width + (size_t)x] =
          fmax(difference_at(&first, &second, x, y), difference_at(&second, &first, x, y));
    }
  }
  free(first.sums);
  free(second.sums);
  return true;
}

/// Look for the worst block at every position; a picture smaller than a block is one.
static void
find_worst(const Differences* const all, PictureDistance* const distance)
{
  const size_t columns = (size_t)all->width;
  const size_t rows = (size_t)all->height;
  const size_t wide = columns < PICTURE_BLOCK ? columns : PICTURE_BLOCK;
  const size_t tall = rows < PICTURE_BLOCK ? rows : PICTURE_BLOCK;
  // Sums of everything above and to the left
  double* const sums = calloc((columns + 1) * (rows + 1), sizeof(double));
  if (!sums) {
    abort();
  }
  for (size_t y = 0; y < rows; ++y) {
    for (size_t x = 0; x < columns; ++x) {
      sums[(y + 1) * (columns + 1) + x + 1] =
          all->pixels[y * columns + x] + sums[y * (columns + 1) + x + 1] +
          sums[(y + 1) * (columns + 1) + x] - sums[y * (columns + 1) + x];
    }
  }
  for (size_t y = 0; y + tall <= rows; ++y) {
    const double* const upper = sums + y * (columns + 1);
    const double* const lower = upper + tall * (columns + 1);
    for (size_t x = 0; x + wide <= columns; ++x) {
      const double sum = lower[x + wide] - lower[x] - upper[x + wide] + upper[x];
      if (sum / (double)(wide * tall) > distance->worst) {
        distance->worst = sum / (double)(wide * tall);
        distance->left = (int)x;
        distance->top = (int)y;
      }
    }
  }
  distance->mean = sums[rows * (columns + 1) + columns] / (double)(rows * columns);
  free(sums);
}

PictureDistance
picture_distance(cairo_surface_t* const one, cairo_surface_t* const other)
{
  PictureDistance distance = {0};
  Differences all;
  if (find_differences(one, other, &all)) {
    distance.same_size = true;
    find_worst(&all, &distance);
  }
  free(all.pixels);
  return distance;
}

bool
picture_is_same(const PictureDistance* const distance)
{
  return distance->same_size && distance->worst <= PICTURE_WORST_LIMIT &&
         distance->mean <= PICTURE_MEAN_LIMIT;
}

cairo_surface_t*
picture_read(const char* const path)
{
  cairo_surface_t* const read = cairo_image_surface_create_from_png(path);
  if (cairo_surface_status(read) != CAIRO_STATUS_SUCCESS) {
    cairo_surface_destroy(read);
    return NULL;
  }
  cairo_surface_t* const surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, cairo_image_surface_get_width(read),
                                 cairo_image_surface_get_height(read));
  cairo_t* const cairo = cairo_create(surface);
  cairo_set_source_surface(cairo, read, 0.0, 0.0);
  cairo_paint(cairo);
  cairo_destroy(cairo);
  cairo_surface_destroy(read);
  return surface;
}

static void
paint_at(cairo_t* const cairo, cairo_surface_t* const surface, const int left)
{
  cairo_set_source_surface(cairo, surface, left, 0.0);
  cairo_paint(cairo);
}

/// Paint differences as grey: white is none.
static void
paint_differences(cairo_t* const cairo, const Differences* const all, const int left)
{
  for (int y = 0; y < all->height; ++y) {
    for (int x = 0; x < all->width; ++x) {
      const double grey =
          1.0 - fmin(1.0, all->pixels[(size_t)y * (size_t)all->width + (size_t)x] / BLACK);
      cairo_set_source_rgb(cairo, grey, grey, grey);
      cairo_rectangle(cairo, left + x, y, 1.0, 1.0);
      cairo_fill(cairo);
    }
  }
}

static void
frame_block(cairo_t* const cairo, const PictureDistance* const distance, const int left)
{
  cairo_set_source_rgb(cairo, 0.9, 0.0, 0.7);
  cairo_set_line_width(cairo, 1.0);
  cairo_rectangle(cairo, left + distance->left - 1.5, distance->top - 1.5, PICTURE_BLOCK + 3.0,
                  PICTURE_BLOCK + 3.0);
  cairo_stroke(cairo);
}

bool
picture_write_both(const char* const path, cairo_surface_t* const picture,
                   cairo_surface_t* const reference)
{
  Differences all = {0};
  PictureDistance distance = {0};
  const int width = cairo_image_surface_get_width(picture);
  const int other = reference ? cairo_image_surface_get_width(reference) : 0;
  int height = cairo_image_surface_get_height(picture);
  if (reference && cairo_image_surface_get_height(reference) > height) {
    height = cairo_image_surface_get_height(reference);
  }
  const bool compared = reference && find_differences(picture, reference, &all);
  const int all_width = width + GAP + other + (compared ? GAP + width : 0);
  cairo_surface_t* const sheet = cairo_image_surface_create(CAIRO_FORMAT_RGB24, all_width, height);
  cairo_t* const cairo = cairo_create(sheet);
  cairo_set_source_rgb(cairo, 0.5, 0.5, 0.5);
  cairo_paint(cairo);
  paint_at(cairo, picture, 0);
  if (reference) {
    paint_at(cairo, reference, width + GAP);
  }
  if (compared) {
    find_worst(&all, &distance);
    paint_differences(cairo, &all, width + GAP + other + GAP);
    frame_block(cairo, &distance, 0);
    frame_block(cairo, &distance, width + GAP + other + GAP);
  }
  const bool written = cairo_surface_write_to_png(sheet, path) == CAIRO_STATUS_SUCCESS;
  cairo_destroy(cairo);
  cairo_surface_destroy(sheet);
  free(all.pixels);
  return written;
}
