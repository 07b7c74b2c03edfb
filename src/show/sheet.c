// SPDX-License-Identifier: GPL-3.0-or-later

#include "sheet.h"

#include "draw_bellows.h"
#include "draw_layout.h"
#include "picture_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MARGIN 32.0
#define FOOT 12.0 ///< For the page number
#define TITLE_SIZE 21.0
#define REMARK_SIZE 10.5
#define BETWEEN 9.0       ///< Vertical distance between items
#define RUNNING_SIZE 9.0  ///< Size of the title on further pages
#define WIDEST_PITCH 41.0 ///< Largest button pitch above a phrase
#define TALLEST_LAYOUT 300.0

struct SrSheetImpl {
  const SrSheetContent* content;
  SrLayoutPlaces places;
  SrBellowsPicture* bellows; ///< NULL for the buttons alone
  size_t* first_systems;     ///< First line of each page, and one past the last
  size_t pages;
  double spare; ///< Margin above and below the buttons if they are alone on a page
  double width;
  double height;
};

static SrFont
title_font(const SrSheet* const sheet)
{
  const SrFont font = {.size = TITLE_SIZE,
                       .bold = true,
                       .colour = SR_COLOUR_INK,
                       .most_width = sheet->width - 2.0 * MARGIN,
                       .smallest = 0.65};
  return font;
}

static SrFont
remark_font(const SrSheet* const sheet)
{
  const SrFont font = {
      .size = REMARK_SIZE, .colour = SR_COLOUR_SOFT_INK, .most_width = sheet->width - 2.0 * MARGIN};
  return font;
}

static bool
is_planned(const SrSheet* const sheet)
{
  return sheet->content->phrase.bar_count > 0;
}

/// Size of the key: larger if the buttons are alone on the page.
static double
key_size(const SrSheet* const sheet)
{
  return is_planned(sheet) ? 1.0 : 1.4;
}

/// Draw everything above the phrase; returns where that ends. Only measured if `pen` is NULL.
static double
draw_head(const SrSheet* const sheet, const SrPen* const pen)
{
  const SrSheetContent* const content = sheet->content;
  const double inner = sheet->width - 2.0 * MARGIN;
  double y = MARGIN;
  if (*content->title) {
    const SrFont font = title_font(sheet);
    if (pen) {
      sr_pen_say(pen, &font, content->title, MARGIN, y);
    }
    y += sr_pen_height(&font) + 3.0;
  }
  if (*content->remark) {
    const SrFont font = remark_font(sheet);
    if (pen) {
      sr_pen_say(pen, &font, content->remark, MARGIN, y);
    }
    y += sr_pen_height(&font);
  }
  y += BETWEEN + sheet->spare;
  if (pen) {
    sr_draw_layout(pen, &content->layout, &sheet->places, MARGIN, y);
  }
  y += sheet->places.height + BETWEEN;
  if (pen) {
    sr_draw_layout_key(pen, is_planned(sheet), MARGIN, y, inner, key_size(sheet));
  }
  y += sr_draw_layout_key(NULL, is_planned(sheet), MARGIN, y, inner, key_size(sheet));
  if (is_planned(sheet)) {
    if (pen) {
      sr_draw_bellows_key(pen, MARGIN, y, inner);
    }
    y += sr_draw_bellows_key(NULL, MARGIN, y, inner);
  }
  return y + BETWEEN;
}

/// Top of the first line of a page.
static double
body_top(const SrSheet* const sheet, const size_t page)
{
  return page ? MARGIN + RUNNING_SIZE + BETWEEN : draw_head(sheet, NULL);
}

/// Distribute the lines over pages, or make the single page tall enough for all.
static SrStatus
share_out(SrSheet* const sheet, const bool paged)
{
  const size_t count = sr_bellows_picture_systems(sheet->bellows);
  sheet->first_systems = calloc(count + 2, sizeof(size_t));
  if (!sheet->first_systems) {
    return SR_NO_MEMORY;
  }
  sheet->pages = 1;
  double y = body_top(sheet, 0);
  for (size_t i = 0; i < count; ++i) {
    const double height = sr_bellows_picture_height(sheet->bellows, i);
    if (paged && y + height > sheet->height - MARGIN - FOOT) {
      sheet->first_systems[sheet->pages++] = i;
      y = body_top(sheet, sheet->pages - 1);
    }
    y += height + BETWEEN;
  }
  sheet->first_systems[sheet->pages] = count;
  if (!paged) {
    sheet->height = y - BETWEEN + MARGIN;
  }
  return SR_OK;
}

/// A context for measuring only.
static cairo_t*
measuring_context(void)
{
  cairo_surface_t* const surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
  cairo_t* const cairo = cairo_create(surface);
  cairo_surface_destroy(surface);
  return cairo;
}

static SrStatus
lay_out_phrase(SrSheet* const sheet, const SrPen* const pen, const bool paged)
{
  const SrStatus status =
      sr_bellows_picture_new(pen, &sheet->content->phrase, sheet->width - 2.0 * MARGIN,
                             sheet->height - MARGIN - FOOT - draw_head(sheet, NULL),
                             sheet->content->bars_a_line, &sheet->bellows);
  return status == SR_OK ? share_out(sheet, paged) : status;
}

/// Measure the words that need it.
static SrStatus
lay_out(SrSheet* const sheet, const bool paged)
{
  SrPen pen;
  cairo_t* const cairo = measuring_context();
  SrStatus status = SR_NO_MEMORY;
  if (sr_pen_begin(&pen, cairo)) {
    status = sr_pen_has_letters(&pen) ? SR_OK : SR_NOT_FOUND;
    if (status == SR_OK && is_planned(sheet)) {
      status = lay_out_phrase(sheet, &pen, paged);
    }
    sr_pen_end(&pen);
  }
  cairo_destroy(cairo);
  return status;
}

SrStatus
sr_sheet_new(const SrSheetContent* const content, const bool paged, SrSheet** const sheet)
{
  *sheet = NULL;
  SrSheet* const made = calloc(1, sizeof(SrSheet));
  if (!made) {
    return SR_NO_MEMORY;
  }
  const bool alone = !content->phrase.bar_count;
  made->content = content;
  made->pages = 1;
  made->width = alone ? SR_A4_LONG : SR_A4_SHORT;
  made->height = alone ? SR_A4_SHORT : SR_A4_LONG;
  const double rest = made->height - 2.0 * MARGIN - TITLE_SIZE - REMARK_SIZE - 5.0 * BETWEEN -
                      sr_draw_layout_key(NULL, false, 0.0, 0.0, 0.0, 1.5);
  SrStatus status =
      sr_layout_places(&content->layout, made->width - 2.0 * MARGIN, alone ? rest : TALLEST_LAYOUT,
                       alone ? made->width : WIDEST_PITCH, &made->places);
  if (status == SR_OK) {
    status = lay_out(made, paged);
  }
  if (status != SR_OK) {
    sr_sheet_del(made);
    return status;
  }
  if (alone) {
    const double bottom = draw_head(made, NULL) - BETWEEN + MARGIN;
    if (paged) {
      made->spare = fmax(0.0, (made->height - bottom) / 3.0);
    } else {
      made->height = bottom;
    }
  }
  *sheet = made;
  return SR_OK;
}

void
sr_sheet_del(SrSheet* const sheet)
{
  if (sheet) {
    sr_layout_places_clear(&sheet->places);
    sr_bellows_picture_del(sheet->bellows);
    free(sheet->first_systems);
    free(sheet);
  }
}

double
sr_sheet_width(const SrSheet* const sheet)
{
  return sheet->width;
}

double
sr_sheet_height(const SrSheet* const sheet)
{
  return sheet->height;
}

size_t
sr_sheet_pages(const SrSheet* const sheet)
{
  return sheet->pages;
}

/// Draw the title and page number on further pages.
static void
draw_running(const SrSheet* const sheet, const SrPen* const pen, const size_t page)
{
  if (sheet->pages < 2) {
    return;
  }
  SrFont font = {.size = RUNNING_SIZE, .colour = SR_COLOUR_SOFT_INK};
  char words[64];
  snprintf(words, sizeof(words), "page %zu of %zu", page + 1, sheet->pages);
  sr_pen_say_middle(pen, &font, words, sheet->width / 2.0, sheet->height - MARGIN);
  if (page && *sheet->content->title) {
    font.most_width = sheet->width - 2.0 * MARGIN;
    font.smallest = 1.0;
    sr_pen_say(pen, &font, sheet->content->title, MARGIN, MARGIN);
  }
}

void
sr_sheet_draw(const SrSheet* const sheet, const SrPen* const pen, const size_t page)
{
  double y = body_top(sheet, page);
  if (!page) {
    (void)draw_head(sheet, pen);
  }
  draw_running(sheet, pen, page);
  for (size_t i = sheet->first_systems ? sheet->first_systems[page] : 0;
       sheet->first_systems && i < sheet->first_systems[page + 1]; ++i) {
    sr_bellows_picture_draw(sheet->bellows, pen, i, MARGIN, y, i == sheet->first_systems[page]);
    y += sr_bellows_picture_height(sheet->bellows, i) + BETWEEN;
  }
}
