// SPDX-License-Identifier: GPL-3.0-or-later

// How far two pictures are from each other, as a player would see it.
//
// Both are smoothed with a box. A pixel then differs by as much as it lies outside of what the
// other picture has within a pixel of it, and that is measured from both sides: an edge that lies a
// little elsewhere or is smoothed in another way has its values nearby, a sign that is missing or
// in another colour has not. The difference is CIEDE2000: it weighs a change of light in a dark
// picture as the eye does, and one of hue between two colours equally light, which a plain distance
// in sRGB sees too large or too small. What counts is the worst block of 12 by 12 pixels, wherever
// it lies, and the mean.

#ifndef PICTURE_COMPARE_H
#define PICTURE_COMPARE_H

#include <cairo.h>

#include <stdbool.h>

/// Side of the box, pixels; odd.
#define PICTURE_BOX 3
/// Side of a block, pixels.
#define PICTURE_BLOCK 12

// Largest distances of pictures that are taken to be the same, CIEDE2000: between what
// test_reference_pictures must tolerate and what it must find, which it prints.
#define PICTURE_WORST_LIMIT 3.5
#define PICTURE_MEAN_LIMIT 0.3

typedef struct {
  bool same_size; ///< If not, the rest is zero
  double worst;   ///< Mean difference in the worst block, CIEDE2000
  int left;       ///< Where that block is, pixels
  int top;
  double mean; ///< Mean difference of the whole picture
} PictureDistance;

/// Distance of two pictures in CAIRO_FORMAT_RGB24.
PictureDistance picture_distance(cairo_surface_t* one, cairo_surface_t* other);
/// Whether that is within both limits.
bool picture_is_same(const PictureDistance* distance);
/// Read a PNG as CAIRO_FORMAT_RGB24; NULL if it cannot be read.
cairo_surface_t* picture_read(const char* path);
/// Write a picture, its reference and their difference side by side, the worst block framed in
/// both; `reference` may be NULL. Whether it was written.
bool picture_write_both(const char* path, cairo_surface_t* picture, cairo_surface_t* reference);

#endif // PICTURE_COMPARE_H
