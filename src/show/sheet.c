// SPDX-License-Identifier: GPL-3.0-or-later

#include "sheet.h"

#include "draw_bellows.h"
#include "draw_layout.h"
#include "picture_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MARGIN 28.0 ///< Above and below
#define SIDE 23.0   ///< Left and right
#define FOOT 11.0   ///< For the page number
#define TITLE_SIZE 21.0
#define REMARK_SIZE 12.5
#define CAPTION_SIZE 9.5
#define BETWEEN 7.0       ///< Vertical distance between items
#define RUNNING_SIZE 9.0  ///< Size of the title on further pages
#define WIDEST_PITCH 41.0 ///< Largest button pitch beside a phrase
#define TALLEST_LAYOUT 300.0

struct SrSheetImpl {
  const SrSheetContent* content;
  SrLayoutPlaces places;
  SrBellowsPicture* bellows; ///< NULL for the buttons alone
  size_t* first_systems;     ///< First line of each page, and one past the last
  size_t pages;
  size_t layout_page; ///< The page with the buttons
  double layout_top;
  double width;
  double height;
};

static SrFont
title_font(const SrSheet* const sheet)
{
  const SrFont font = {.size = TITLE_SIZE,
                       .bold = true,
                       .colour = SR_COLOUR_INK,
                       .most_width = sheet->width - 2.0 * SIDE,
                       .smallest = 0.65};
  return font;
}

static SrFont
remark_font(const SrSheet* const sheet)
{
  const SrFont font = {
      .size = REMARK_SIZE, .colour = SR_COLOUR_SOFT_INK, .most_width = sheet->width - 2.0 * SIDE};
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
  double y = MARGIN;
  if (*content->title) {
    const SrFont font = title_font(sheet);
    if (pen) {
      sr_pen_say(pen, &font, content->title, SIDE, y);
    }
    y += sr_pen_height(&font) + 2.0;
  }
  if (*content->remark) {
    const SrFont font = remark_font(sheet);
    if (pen) {
      sr_pen_say(pen, &font, content->remark, SIDE, y);
    }
    y += sr_pen_height(&font) + 2.0;
  }
  if (is_planned(sheet)) {
    y += sr_draw_bellows_key(pen, SIDE, y, sheet->width - 2.0 * SIDE);
  }
  return y + 0.5 * BETWEEN;
}

/// Draw the buttons and their key from a height on; returns where they end. Only measured if `pen`
/// is NULL.
static double
draw_buttons(const SrSheet* const sheet, const SrPen* const pen, double y)
{
  const SrSheetContent* const content = sheet->content;
  const double inner = sheet->width - 2.0 * SIDE;
  if (is_planned(sheet) && *content->caption) {
    const SrFont font = {.size = CAPTION_SIZE, .colour = SR_COLOUR_SOFT_INK, .most_width = inner};
    if (pen) {
      sr_pen_say(pen, &font, content->caption, SIDE, y);
    }
    y += sr_pen_height(&font) + 3.0;
  }
  if (pen) {
    sr_draw_layout(pen, &content->layout, &sheet->places, SIDE, y);
  }
  y += sheet->places.height + BETWEEN;
  return y + sr_draw_layout_key(pen, is_planned(sheet), SIDE, y, inner, key_size(sheet));
}

/// Top of the first line of a page.
static double
body_top(const SrSheet* const sheet, const size_t page)
{
  return page ? MARGIN + RUNNING_SIZE + BETWEEN : draw_head(sheet, NULL);
}

/// Height for lines on a page.
static double
body_height(const SrSheet* const sheet, const size_t page)
{
  return sheet->height - MARGIN - FOOT - body_top(sheet, page);
}

/// Distribute the lines over pages, or make the single page tall enough for all. The buttons follow
/// the last line, on a page of their own if need be.
static SrStatus
share_out(SrSheet* const sheet, const bool paged, const SrPageRoom* const room)
{
  const size_t count = sr_bellows_picture_systems(sheet->bellows);
  SrPageLine* const lines = calloc(count + 1, sizeof(SrPageLine));
  sheet->first_systems = calloc(count + 3, sizeof(size_t));
  if (!sheet->first_systems || !lines) {
    free(lines);
    return SR_NO_MEMORY;
  }
  for (size_t i = 0; i < count; ++i) {
    lines[i].height = sr_bellows_picture_height(sheet->bellows, i);
    lines[i].begins = sr_bellows_picture_begins(sheet->bellows, i);
  }
  const SrPageRoom endless = {INFINITY, INFINITY, room->between, room->last};
  const SrPageRoom* const shared = paged ? room : &endless;
  double left = 0.0;
  sheet->pages = sr_page_share(lines, count, shared, sheet->first_systems, &left);
  double y = body_top(sheet, sheet->pages - 1);
  for (size_t i = sheet->first_systems[sheet->pages - 1]; i < count; ++i) {
    y += lines[i].height + BETWEEN;
  }
  free(lines);
  if (paged && left < room->last) {
    sheet->first_systems[++sheet->pages] = count;
    y = body_top(sheet, sheet->pages - 1);
  }
  sheet->layout_page = sheet->pages - 1;
  sheet->layout_top = y + BETWEEN;
  if (!paged) {
    sheet->height = draw_buttons(sheet, NULL, sheet->layout_top) + MARGIN;
  }
  return SR_OK;
}

/// What is tried, in this order: how many pages, and the size of letters against SR_NAME_MM.
typedef struct {
  size_t pages; ///< 0 for any number
  double pitch; ///< Of the buttons on the last of them; 0 to leave them to a page of their own
  double least;
  double most;
  double fits; ///< Share of notes whose words have room at that size
  size_t bars; ///< Only for phrases of at most this many bars; 0 for all
} Attempt;

#define ALL 0.97
#define MOST 0.9

static const Attempt ATTEMPTS[] = {
    {1, WIDEST_PITCH, 1.0, 1.6, ALL, 0},  {1, 32.0, 1.0, 1.6, ALL, 0},
    {1, 0.0, 1.0, 1.3, ALL, 0},           {1, 0.0, 0.75, 1.0, MOST, 8},
    {2, WIDEST_PITCH, 0.8, 1.2, MOST, 0}, {2, 32.0, 0.7, 1.2, MOST, 0},
    {2, 0.0, 0.5, 1.2, MOST, 0},          {0, 0.0, 0.25, 0.5, MOST, 0},
};
#define ATTEMPT_COUNT (sizeof(ATTEMPTS) / sizeof(ATTEMPTS[0]))

static size_t
whole_bars(const SrDrawnPhrase* const phrase)
{
  size_t count = 0;
  for (size_t i = 0; i < phrase->bar_count; ++i) {
    count += phrase->bars[i].number > 0;
  }
  return count;
}

/// Place the buttons at a pitch; returns the height that they and their key need.
static SrStatus
place_buttons(SrSheet* const sheet, const double pitch, double* const height)
{
  sr_layout_places_clear(&sheet->places);
  const SrStatus status = sr_layout_places(&sheet->content->layout, sheet->width - 2.0 * SIDE,
                                           TALLEST_LAYOUT, pitch, &sheet->places);
  *height = draw_buttons(sheet, NULL, BETWEEN);
  return status;
}

static SrStatus
lay_out_phrase(SrSheet* const sheet, const SrPen* const pen, const bool paged)
{
  const SrDrawnPhrase* const phrase = &sheet->content->phrase;
  SrBellowsWish wish = {.width = sheet->width - 2.0 * SIDE,
                        .room = {body_height(sheet, 0), body_height(sheet, 1), BETWEEN, 0.0},
                        .bars_a_line = sheet->content->bars_a_line};
  SrBellowsWay way = {0};
  bool found = false;
  double buttons = 0.0;
  for (size_t i = 0; i < ATTEMPT_COUNT && !found; ++i) {
    const Attempt* const attempt = &ATTEMPTS[i];
    if (attempt->bars && whole_bars(phrase) > attempt->bars) {
      continue;
    }
    const bool apart = attempt->pitch <= 0.0;
    SrStatus status = place_buttons(sheet, apart ? WIDEST_PITCH : attempt->pitch, &buttons);
    wish.pages = attempt->pages;
    wish.least = attempt->least;
    wish.most = attempt->most;
    wish.fits = attempt->fits;
    wish.room.last = apart ? 0.0 : buttons;
    if (status == SR_OK) {
      status = sr_bellows_way_find(pen, phrase, &wish, &way, &found);
    }
    if (status != SR_OK) {
      return status;
    }
  }
  const SrStatus status = sr_bellows_picture_new(pen, phrase, wish.width, &way, &sheet->bellows);
  wish.room.last = buttons;
  return status == SR_OK ? share_out(sheet, paged, &wish.room) : status;
}

/// The buttons alone, on a landscape page.
static SrStatus
lay_out_alone(SrSheet* const sheet, const bool paged)
{
  const double rest = sheet->height - 2.0 * MARGIN - TITLE_SIZE - REMARK_SIZE - 5.0 * BETWEEN -
                      sr_draw_layout_key(NULL, false, 0.0, 0.0, 0.0, 1.5);
  const SrStatus status = sr_layout_places(&sheet->content->layout, sheet->width - 2.0 * SIDE, rest,
                                           sheet->width, &sheet->places);
  sheet->layout_top = draw_head(sheet, NULL) + BETWEEN;
  const double bottom = draw_buttons(sheet, NULL, sheet->layout_top) + MARGIN;
  if (paged) {
    sheet->layout_top += fmax(0.0, (sheet->height - bottom) / 3.0);
  } else {
    sheet->height = bottom;
  }
  return status;
}

/// Measure the words that need it.
static SrStatus
lay_out(SrSheet* const sheet, const bool paged)
{
  SrPen pen;
  cairo_t* const cairo = sr_pen_measuring();
  SrStatus status = SR_NO_MEMORY;
  if (sr_pen_begin(&pen, cairo)) {
    status = !sr_pen_has_letters(&pen) ? SR_NOT_FOUND
             : is_planned(sheet)       ? lay_out_phrase(sheet, &pen, paged)
                                       : lay_out_alone(sheet, paged);
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
  const SrStatus status = lay_out(made, paged);
  if (status != SR_OK) {
    sr_sheet_del(made);
    return status;
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
    font.most_width = sheet->width - 2.0 * SIDE;
    font.smallest = 1.0;
    sr_pen_say(pen, &font, sheet->content->title, SIDE, MARGIN);
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
    sr_bellows_picture_draw(sheet->bellows, pen, i, SIDE, y);
    y += sr_bellows_picture_height(sheet->bellows, i) + BETWEEN;
  }
  if (page == sheet->layout_page) {
    (void)draw_buttons(sheet, pen, sheet->layout_top);
  }
}
