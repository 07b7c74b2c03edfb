// SPDX-License-Identifier: GPL-3.0-or-later

#include <steadyreed/round_picture.h>

#include "round_layout.h"

#include <math.h>
#include <stdlib.h>

/// Smallest limit to the size of letters.
#define LEAST_MOST 4.0

/// Whether there is a font; SR_NOT_FOUND if not.
static SrStatus
look_for_letters(SrError* const error)
{
  cairo_t* const cairo = sr_pen_measuring();
  SrPen pen;
  SrStatus status = SR_NO_MEMORY;
  if (sr_pen_begin(&pen, cairo)) {
    status = sr_pen_has_letters(&pen) ? SR_OK : SR_NOT_FOUND;
    sr_pen_end(&pen);
  }
  cairo_destroy(cairo);
  return status == SR_NOT_FOUND ? sr_error_set(error, status, SR_PEN_NO_LETTERS) : status;
}

static bool
is_in_range(const SrRoundStyle* const style, const double width, const double height)
{
  return width >= SR_ROUND_LEAST_WIDTH && isfinite(width) && height > 0.0 &&
         (style->most_size == 0.0 || style->most_size >= LEAST_MOST);
}

SrStatus
sr_round_picture_new(const SrPicturedRound* const pictured, const SrRoundStyle* const style,
                     const double width, const double height, SrRoundPicture** const picture,
                     SrError* const error)
{
  const SrRoundStyle usual = {0};
  *picture = NULL;
  if (!is_in_range(style ? style : &usual, width, height)) {
    return sr_error_set(error, SR_BAD_ARGUMENT, "There is no room for a picture of that size.");
  }
  SrRoundPicture* const made = calloc(1, sizeof(SrRoundPicture));
  SrStatus status = made ? look_for_letters(error) : SR_NO_MEMORY;
  if (status == SR_OK) {
    made->style = style ? *style : usual;
    made->theme = sr_theme(made->style.dark);
    made->width = width;
    status = sr_round_content_make(pictured, &made->content);
  }
  if (status == SR_OK) {
    status = sr_round_layout(made, height);
  }
  if (status != SR_OK) {
    sr_round_picture_del(made);
    return status == SR_NO_MEMORY
               ? sr_error_set(error, status, "There is not enough memory to draw the picture.")
           : status == SR_BAD_ARGUMENT
               ? sr_error_set(error, status, "The round or the plan is of another phrase.")
               : status;
  }
  *picture = made;
  return SR_OK;
}

SrStatus
sr_round_picture_draw(const SrRoundPicture* const picture, cairo_t* const cairo, const double left,
                      const double top)
{
  SrPen pen;
  if (!sr_pen_begin(&pen, cairo)) {
    return SR_NO_MEMORY;
  }
  sr_round_draw(picture, &pen, left, top);
  sr_pen_end(&pen);
  return SR_OK;
}

void
sr_round_picture_del(SrRoundPicture* const picture)
{
  if (picture) {
    sr_round_content_clear(&picture->content);
    free(picture->systems);
    free(picture);
  }
}

void
sr_round_paper(const bool dark, double* const red, double* const green, double* const blue)
{
  const SrColour paper = sr_theme(dark).paper;
  *red = paper.red;
  *green = paper.green;
  *blue = paper.blue;
}
