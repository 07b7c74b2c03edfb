// SPDX-License-Identifier: GPL-3.0-or-later

#include "picture_file.h"

#include <steadyreed/output.h>

#include <cairo-pdf.h>
#include <cairo-svg.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/// Pixels per point of a PNG: 200 per inch, and the least for a very tall one.
#define PNG_SCALE (200.0 / 72.0)
#define PNG_LEAST_SCALE 1.0

/// A growing buffer.
typedef struct {
  unsigned char* bytes;
  size_t size;
  size_t room;
} Bytes;

static cairo_status_t
take_bytes(void* const closure, const unsigned char* const data, const unsigned length)
{
  Bytes* const bytes = closure;
  if (bytes->room - bytes->size < length) {
    const size_t room = 2 * bytes->room + length + 65536;
    unsigned char* const larger = realloc(bytes->bytes, room);
    if (!larger) {
      return CAIRO_STATUS_NO_MEMORY;
    }
    bytes->bytes = larger;
    bytes->room = room;
  }
  memcpy(bytes->bytes + bytes->size, data, length);
  bytes->size += length;
  return CAIRO_STATUS_SUCCESS;
}

SrPictureForm
sr_picture_form(const char* const path)
{
  const char* const slash = strrchr(path, '/');
  const char* const name = slash ? slash + 1 : path;
  const char* const dot = strrchr(name, '.');
  if (!dot || dot == name) {
    return SR_PICTURE_UNKNOWN;
  }
  return !strcasecmp(dot, ".svg")   ? SR_PICTURE_SVG
         : !strcasecmp(dot, ".png") ? SR_PICTURE_PNG
         : !strcasecmp(dot, ".pdf") ? SR_PICTURE_PDF
                                    : SR_PICTURE_UNKNOWN;
}

SrStatus
sr_picture_check(const char* const path, SrError* const error)
{
  if (sr_picture_form(path) != SR_PICTURE_UNKNOWN) {
    return SR_OK;
  }
  sr_error_set(error, SR_UNSUPPORTED,
               "The ending of the name decides the format: use .pdf, .svg or .png.");
  sr_error_place(error, path, 0, 0);
  return SR_UNSUPPORTED;
}

static SrStatus
refuse_cairo(const cairo_status_t status, SrError* const error)
{
  return status == CAIRO_STATUS_NO_MEMORY
             ? sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.")
             : sr_error_set(error, SR_WRITE_FAILED, "The picture could not be drawn: %s.",
                            cairo_status_to_string(status));
}

/// Draw all pages on a surface and finish it, except for what PNG still needs.
static SrStatus
draw_pages(const SrPicture* const picture, cairo_surface_t* const surface, const double scale,
           const bool paper, SrError* const error)
{
  SrStatus outcome = SR_OK;
  for (size_t page = 0; page < picture->pages && outcome == SR_OK; ++page) {
    cairo_t* const cairo = cairo_create(surface);
    cairo_scale(cairo, scale, scale);
    if (paper) {
      cairo_set_source_rgb(cairo, 1.0, 1.0, 1.0);
      cairo_paint(cairo);
    }
    outcome = picture->draw(picture->context, cairo, page);
    if (outcome != SR_OK) {
      sr_error_set(error, outcome, "There is not enough memory to draw the picture.");
    } else {
      cairo_show_page(cairo);
      if (cairo_status(cairo) != CAIRO_STATUS_SUCCESS) {
        outcome = refuse_cairo(cairo_status(cairo), error);
      }
    }
    cairo_destroy(cairo);
  }
  return outcome;
}

/// Pixels per point; 0 if the picture is too tall even for the least.
static double
png_scale(const SrPicture* const picture)
{
  const double side = fmax(picture->width, picture->height);
  const double scale = fmin(fmin(PNG_SCALE, SR_PNG_MOST_SIDE / side),
                            sqrt(SR_PNG_MOST_PIXELS / (picture->width * picture->height)));
  return scale < PNG_LEAST_SCALE ? 0.0 : scale;
}

static SrStatus
render_png(const SrPicture* const picture, Bytes* const bytes, SrError* const error)
{
  const double scale = png_scale(picture);
  if (scale <= 0.0) {
    return sr_error_set(error, SR_TOO_LARGE,
                        "The phrase is too long for one PNG. Write .pdf or .svg, or choose fewer "
                        "bars.");
  }
  cairo_surface_t* const surface = cairo_image_surface_create(
      CAIRO_FORMAT_RGB24, (int)ceil(picture->width * scale), (int)ceil(picture->height * scale));
  SrStatus outcome = draw_pages(picture, surface, scale, true, error);
  if (outcome == SR_OK) {
    const cairo_status_t status = cairo_surface_write_to_png_stream(surface, take_bytes, bytes);
    if (status != CAIRO_STATUS_SUCCESS) {
      outcome = refuse_cairo(status, error);
    }
  }
  cairo_surface_destroy(surface);
  return outcome;
}

static SrStatus
render_vector(const SrPicture* const picture, const SrPictureForm form, Bytes* const bytes,
              SrError* const error)
{
  cairo_surface_t* surface;
  if (form == SR_PICTURE_PDF) {
    surface =
        cairo_pdf_surface_create_for_stream(take_bytes, bytes, picture->width, picture->height);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, picture->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Steadyreed");
  } else {
    surface =
        cairo_svg_surface_create_for_stream(take_bytes, bytes, picture->width, picture->height);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PT);
  }
  SrStatus outcome = draw_pages(picture, surface, 1.0, form == SR_PICTURE_SVG, error);
  cairo_surface_finish(surface);
  const cairo_status_t status = cairo_surface_status(surface);
  if (outcome == SR_OK && status != CAIRO_STATUS_SUCCESS) {
    outcome = refuse_cairo(status, error);
  }
  cairo_surface_destroy(surface);
  return outcome;
}

/// Draw a picture in memory, in the format of a path.
static SrStatus
render(const char* const path, const SrPicture* const picture, Bytes* const bytes,
       SrError* const error)
{
  const SrPictureForm form = sr_picture_form(path);
  SrStatus outcome;
  switch (form) {
  case SR_PICTURE_PNG:
    outcome = render_png(picture, bytes, error);
    break;
  case SR_PICTURE_SVG:
  case SR_PICTURE_PDF:
    outcome = render_vector(picture, form, bytes, error);
    break;
  case SR_PICTURE_UNKNOWN:
  default:
    outcome = sr_picture_check(path, error);
    break;
  }
  if (outcome != SR_OK) {
    sr_error_place(error, path, 0, 0);
  }
  return outcome;
}

static SrStatus
no_memory(SrError* const error)
{
  return sr_error_set(error, SR_NO_MEMORY, "There is not enough memory to draw the picture.");
}

/// Write bytes to where the file will be made from.
static SrStatus
prepare(const char* const path, const Bytes* const bytes, SrOutput** const output,
        SrError* const error)
{
  const SrStatus status = sr_output_new(path, output, error);
  if (status != SR_OK) {
    return status;
  }
  FILE* const stream = sr_output_stream(*output);
  if (!stream) {
    return no_memory(error);
  }
  // What fails here is found when the file is finished
  (void)fwrite(bytes->bytes, 1, bytes->size, stream);
  return SR_OK;
}

/// Move all files into place, or leave none that is new. `older` has room for all.
static SrStatus
finish_all(char* const* const paths, SrOutput** const outputs, bool* const older,
           const size_t count, SrError* const error)
{
  SrStatus status = SR_OK;
  size_t done = 0;
  for (; done < count && status == SR_OK; ++done) {
    older[done] = access(paths[done], F_OK) == 0;
    status = sr_output_finish(outputs[done], error);
  }
  for (size_t i = 0; status != SR_OK && i + 1 < done; ++i) {
    if (!older[i]) {
      unlink(paths[i]);
    }
  }
  return status;
}

/// Draw and write all; `outputs` and `older` have room for all.
static SrStatus
write_all(char* const* const paths, const SrPicture* const pictures, SrOutput** const outputs,
          bool* const older, const size_t count, SrError* const error)
{
  for (size_t i = 0; i < count; ++i) {
    Bytes bytes = {0};
    SrStatus status = render(paths[i], &pictures[i], &bytes, error);
    if (status == SR_OK) {
      status = prepare(paths[i], &bytes, &outputs[i], error);
    }
    free(bytes.bytes);
    if (status != SR_OK) {
      return status;
    }
  }
  return finish_all(paths, outputs, older, count, error);
}

SrStatus
sr_picture_write_all(char* const* const paths, const SrPicture* const pictures, const size_t count,
                     SrError* const error)
{
  SrOutput** const outputs = (SrOutput**)calloc(count + 1, sizeof(SrOutput*));
  bool* const older = calloc(count + 1, sizeof(bool));
  const SrStatus status = outputs && older
                              ? write_all(paths, pictures, outputs, older, count, error)
                              : no_memory(error);
  for (size_t i = 0; outputs && i < count; ++i) {
    sr_output_del(outputs[i]);
  }
  free((void*)outputs);
  free(older);
  return status;
}

SrStatus
sr_picture_write(const char* const path, const SrPicture* const picture, SrError* const error)
{
  Bytes bytes = {0};
  SrStatus outcome = render(path, picture, &bytes, error);
  if (outcome == SR_OK) {
    outcome = sr_output_write(path, bytes.bytes, bytes.size, error);
  }
  free(bytes.bytes);
  return outcome;
}
