// SPDX-License-Identifier: GPL-3.0-or-later

// The pictures that testdata/pictures/ keeps: one of each kind that src/show draws.

#ifndef REFERENCE_PICTURES_H
#define REFERENCE_PICTURES_H

#include <cairo.h>

#include <stdbool.h>
#include <stddef.h>

/// Where pictures are drawn, and how; all zero is as the references are.
typedef struct {
  double right; ///< Moved by this many pixels
  double down;
  cairo_antialias_t antialias;
} DrawnHow;

/// A picture being drawn.
typedef struct {
  DrawnHow how;
  cairo_surface_t* surface;
  cairo_t* cairo;
} ReferenceCanvas;

/// Begin a picture of a size in pixels, on paper. Draw on `cairo`, at 0, 0.
void reference_begin(ReferenceCanvas* canvas, double width, double height, bool dark);
/// End it; destroy the picture, in CAIRO_FORMAT_RGB24.
cairo_surface_t* reference_end(ReferenceCanvas* canvas);

typedef struct {
  const char* name; ///< Of its file, without ".png"
  void (*draw)(ReferenceCanvas* canvas);
} ReferencePicture;
extern const ReferencePicture reference_pictures[];
extern const size_t reference_picture_count;

/// Draw the picture at an index; destroy it. Ends the test with cmocka on error.
cairo_surface_t* reference_draw(size_t index, const DrawnHow* how);

/**
   Choose the font, before anything is drawn.

   @param config A file of fontconfig that lets only DejaVu Sans in.
   @return Whether that font is installed where Debian has it.
*/
bool reference_fonts(const char* config);

/// Around pictures, units of the context.
#define REFERENCE_PAD 6.0
/// Pixels a unit of rounds: as on a dense screen, so that small signs have some pixels.
#define REFERENCE_SCALE 1.25

/// As reference_begin(), for a round that is laid out for REFERENCE_ROUND_WIDTH.
void reference_begin_round(ReferenceCanvas* canvas, double height, bool dark);

#endif // REFERENCE_PICTURES_H
