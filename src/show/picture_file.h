// SPDX-License-Identifier: GPL-3.0-or-later

// Pictures as files: SVG, PNG or PDF by file extension.

#ifndef SR_SHOW_PICTURE_FILE_H
#define SR_SHOW_PICTURE_FILE_H

#include <steadyreed/status.h>

#include <cairo.h>

#include <stddef.h>

/// A4 (ISO 216) in points.
#define SR_A4_SHORT 595.276
#define SR_A4_LONG 841.890

/// File formats.
typedef enum {
  SR_PICTURE_UNKNOWN,
  SR_PICTURE_SVG,
  SR_PICTURE_PNG,
  SR_PICTURE_PDF,
} SrPictureForm;

/// The format for a file extension, in any case.
SrPictureForm sr_picture_form(const char* path);

/// SR_OK if a path has one of the extensions, otherwise SR_UNSUPPORTED with the file named.
SrStatus sr_picture_check(const char* path, SrError* error);

/// The pages to draw, and how.
typedef struct {
  const char* title; ///< Title stored in the file; valid UTF-8
  double width;      ///< Of each page, points
  double height;
  size_t pages; ///< At least 1; exactly 1 for SVG and PNG
  SrStatus (*draw)(void* context, cairo_t* cairo, size_t page);
  void* context;
} SrPicture;

/// Most pixels of a PNG per side, and in total.
#define SR_PNG_MOST_SIDE 32000.0
#define SR_PNG_MOST_PIXELS 100e6

/**
   Draw everything in memory, then write the file, which is removed if writing fails.

   @return As for sr_page_plan(); the error names the file.
*/
SrStatus sr_picture_write(const char* path, const SrPicture* picture, SrError* error);

/**
   Draw several pictures in memory, then write a file for each. If one cannot be written, none of
   those that are new remain.

   @param paths One for each picture.
   @return As for sr_picture_write().
*/
SrStatus sr_picture_write_all(char* const* paths, const SrPicture* pictures, size_t count,
                              SrError* error);

#endif // SR_SHOW_PICTURE_FILE_H
