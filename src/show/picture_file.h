// SPDX-License-Identifier: GPL-3.0-or-later

// Pictures as files: SVG, PNG or PDF by the end of the name.

#ifndef SR_SHOW_PICTURE_FILE_H
#define SR_SHOW_PICTURE_FILE_H

#include <steadyreed/status.h>

#include <cairo.h>

#include <stddef.h>

/// A4 (ISO 216) in points.
#define SR_A4_SHORT 595.276
#define SR_A4_LONG 841.890

/// What a name asks for.
typedef enum {
  SR_PICTURE_UNKNOWN,
  SR_PICTURE_SVG,
  SR_PICTURE_PNG,
  SR_PICTURE_PDF,
} SrPictureForm;

/// By the end of the name, no matter the case.
SrPictureForm sr_picture_form(const char* path);

/// What is to be drawn: its pages, and how.
typedef struct {
  const char* title; ///< For the file's own title; valid UTF-8
  double width;      ///< Of each page, points
  double height;
  size_t pages; ///< At least 1; of SVG and PNG exactly 1
  SrStatus (*draw)(void* context, cairo_t* cairo, size_t page);
  void* context;
} SrPicture;

/// Most pixels of one PNG in either direction, and in all.
#define SR_PNG_MOST_SIDE 32000.0
#define SR_PNG_MOST_PIXELS 100e6

/**
   Draw everything in memory, then write the file. If writing fails it is removed.

   @return As for sr_page_plan(); the error names the file.
*/
SrStatus sr_picture_write(const char* path, const SrPicture* picture, SrError* error);

#endif // SR_SHOW_PICTURE_FILE_H
