// SPDX-License-Identifier: GPL-3.0-or-later

#include "pen.h"

#include "plain_signs.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Height of a line of words and its baseline, relative to the font size.
#define LINE_HEIGHT 0.98
#define BASELINE 0.75
/// Words that would shrink below this share are cut short instead.
#define SMALLEST 0.5

cairo_t*
sr_pen_measuring(void)
{
  cairo_surface_t* const surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
  cairo_t* const cairo = cairo_create(surface);
  cairo_surface_destroy(surface);
  return cairo;
}

bool
sr_pen_begin(SrPen* const pen, cairo_t* const cairo)
{
  memset(pen, 0, sizeof(*pen));
  pen->cairo = cairo;
  pen->words = pango_cairo_create_layout(cairo);
  cairo_font_options_t* const options = cairo_font_options_create();
  if (!pen->words || cairo_font_options_status(options) != CAIRO_STATUS_SUCCESS) {
    cairo_font_options_destroy(options);
    sr_pen_end(pen);
    return false;
  }
  // No hinting, so that letters keep their proportions at every resolution and fit as measured
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  PangoContext* const context = pango_layout_get_context(pen->words);
  pango_cairo_context_set_font_options(context, options);
  pango_cairo_context_set_resolution(context, 72.0);
  pango_context_set_round_glyph_positions(context, FALSE);
  cairo_font_options_destroy(options);
  pango_layout_set_single_paragraph_mode(pen->words, TRUE);
  cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
  return true;
}

void
sr_pen_end(SrPen* const pen)
{
  if (pen->words) {
    g_object_unref(pen->words);
  }
  memset(pen, 0, sizeof(*pen));
}

void
sr_pen_colour(const SrPen* const pen, const SrColour colour)
{
  cairo_set_source_rgb(pen->cairo, colour.red, colour.green, colour.blue);
}

void
sr_pen_fill(const SrPen* const pen, const SrColour colour, const double left, const double top,
            const double width, const double height)
{
  sr_pen_colour(pen, colour);
  cairo_rectangle(pen->cairo, left, top, width, height);
  cairo_fill(pen->cairo);
}

void
sr_pen_rule(const SrPen* const pen, const SrColour colour, const double width, const double x0,
            const double y0, const double x1, const double y1)
{
  sr_pen_colour(pen, colour);
  cairo_set_line_width(pen->cairo, width);
  cairo_move_to(pen->cairo, x0, y0);
  cairo_line_to(pen->cairo, x1, y1);
  cairo_stroke(pen->cairo);
}

static void
set_size(const SrPen* const pen, const bool bold, const double size)
{
  PangoFontDescription* const description = pango_font_description_new();
  pango_font_description_set_family_static(description, "sans");
  pango_font_description_set_weight(description, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(description, size * PANGO_SCALE);
  pango_layout_set_font_description(pen->words, description);
  pango_font_description_free(description);
}

/// Set the text, with "#" and "b" for sharps and flats missing from the font.
static void
set_text(const SrPen* const pen, const char* const text)
{
  pango_layout_set_text(pen->words, text, -1);
  if (!sr_has_signs(text) || !pango_layout_get_unknown_glyphs_count(pen->words)) {
    return;
  }
  char* const plain = sr_plain_signs(text);
  if (plain) {
    pango_layout_set_text(pen->words, plain, -1);
    free(plain);
  }
}

static double
narrow_of(const SrFont* const font)
{
  return font->narrow > 0.0 ? font->narrow : 1.0;
}

static double
width_now(const SrPen* const pen, const SrFont* const font)
{
  PangoRectangle logical;
  pango_layout_get_extents(pen->words, NULL, &logical);
  return narrow_of(font) * (double)logical.width / PANGO_SCALE;
}

/// Prepare the words. Returns their size after fitting; `width` receives their width.
static double
prepare(const SrPen* const pen, const SrFont* const font, const char* const text,
        double* const width)
{
  double size = font->size;
  pango_layout_set_ellipsize(pen->words, PANGO_ELLIPSIZE_NONE);
  pango_layout_set_width(pen->words, -1);
  set_size(pen, font->bold, size);
  set_text(pen, text);
  *width = width_now(pen, font);
  if (font->most_width > 0.0 && *width > font->most_width) {
    const double share =
        fmax(font->most_width / *width, font->smallest > 0.0 ? font->smallest : SMALLEST);
    size *= share;
    set_size(pen, font->bold, size);
    *width = width_now(pen, font);
    if (*width > font->most_width + 0.5) {
      pango_layout_set_ellipsize(pen->words, PANGO_ELLIPSIZE_END);
      pango_layout_set_width(pen->words, (int)(font->most_width / narrow_of(font) * PANGO_SCALE));
      *width = width_now(pen, font);
    }
  }
  return size;
}

bool
sr_pen_has_letters(const SrPen* const pen)
{
  set_size(pen, false, 10.0);
  pango_layout_set_text(pen->words, "Ag1", -1);
  return pango_layout_get_unknown_glyphs_count(pen->words) == 0;
}

double
sr_pen_width(const SrPen* const pen, const SrFont* const font, const char* const text)
{
  double width = 0.0;
  prepare(pen, font, text, &width);
  return width;
}

double
sr_pen_height(const SrFont* const font)
{
  return LINE_HEIGHT * font->size;
}

/// Draw the prepared words on a baseline.
static void
put(const SrPen* const pen, const SrFont* const font, const double left, const double baseline)
{
  cairo_t* const cairo = pen->cairo;
  PangoLayoutLine* const line = pango_layout_get_line_readonly(pen->words, 0);
  if (!line) {
    return;
  }
  cairo_save(cairo);
  cairo_translate(cairo, left, baseline);
  cairo_scale(cairo, narrow_of(font), 1.0);
  if (font->halo) {
    cairo_move_to(cairo, 0.0, 0.0);
    pango_cairo_layout_line_path(cairo, line);
    sr_pen_colour(pen, SR_COLOUR_PAPER);
    cairo_set_line_width(cairo, fmin(2.5, 0.25 * font->size));
    cairo_stroke(cairo);
  }
  sr_pen_colour(pen, font->colour);
  cairo_move_to(cairo, 0.0, 0.0);
  pango_cairo_show_layout_line(cairo, line);
  cairo_restore(cairo);
}

/// Area of the prepared letters.
static SrArea
letters(const SrPen* const pen, const SrFont* const font, const double left, const double baseline)
{
  const double narrow = narrow_of(font);
  PangoRectangle ink;
  pango_layout_line_get_extents(pango_layout_get_line_readonly(pen->words, 0), &ink, NULL);
  const SrArea area = {left + narrow * ink.x / PANGO_SCALE, baseline + (double)ink.y / PANGO_SCALE,
                       narrow * ink.width / PANGO_SCALE, (double)ink.height / PANGO_SCALE};
  return area;
}

static void
report(const SrPen* const pen, const char* const text, const SrArea* const area)
{
  if (pen->said && *text) {
    pen->said(pen->said_context, text, area);
  }
}

void
sr_pen_say(const SrPen* const pen, const SrFont* const font, const char* const text,
           const double left, const double top)
{
  double width = 0.0;
  const double size = prepare(pen, font, text, &width);
  // Words made smaller are centred in the line's height
  const double baseline = top + LINE_HEIGHT * (font->size - size) / 2.0 + BASELINE * size;
  put(pen, font, left, baseline);
  const SrArea area = letters(pen, font, left, baseline);
  report(pen, text, &area);
}

SrArea
sr_pen_ink(const SrPen* const pen, const SrFont* const font, const char* const text)
{
  double width = 0.0;
  prepare(pen, font, text, &width);
  return letters(pen, font, 0.0, 0.0);
}

double
sr_pen_say_on(const SrPen* const pen, const SrFont* const font, const char* const text,
              const double left, const double baseline)
{
  double width = 0.0;
  prepare(pen, font, text, &width);
  put(pen, font, left, baseline);
  const SrArea area = letters(pen, font, left, baseline);
  report(pen, text, &area);
  return width;
}

double
sr_pen_capital(const SrPen* const pen, const bool bold)
{
  const double size = 100.0;
  PangoRectangle ink;
  set_size(pen, bold, size);
  pango_layout_set_text(pen->words, "H", -1);
  pango_layout_get_extents(pen->words, &ink, NULL);
  return ink.height > 0 ? (double)ink.height / PANGO_SCALE / size : BASELINE;
}

void
sr_pen_say_middle(const SrPen* const pen, const SrFont* const font, const char* const text,
                  const double middle, const double top)
{
  const double width = sr_pen_width(pen, font, text);
  sr_pen_say(pen, font, text, middle - width / 2.0, top);
}

void
sr_pen_say_note(const SrPen* const pen, const SrFont* const font, const char* const note,
                const double x, const double y)
{
  const size_t name_size = strcspn(note, "-0123456789");
  char name[16] = "";
  if (!name_size || !note[name_size] || name_size >= sizeof(name)) {
    sr_pen_say_middle(pen, font, note, x, y - BASELINE * font->size + 0.37 * font->size);
    return;
  }
  memcpy(name, note, name_size);
  SrFont small = *font;
  small.size = 0.62 * font->size;
  small.bold = false;
  double name_width = 0.0;
  const double baseline = y + 0.365 * font->size;
  const double octave_width = sr_pen_width(pen, &small, note + name_size);
  prepare(pen, font, name, &name_width);
  const double left = x - (name_width + octave_width) / 2.0;
  put(pen, font, left, baseline);
  SrArea area = letters(pen, font, left, baseline);
  double unused = 0.0;
  prepare(pen, &small, note + name_size, &unused);
  put(pen, &small, left + name_width, baseline + 0.14 * font->size);
  area.width = name_width + octave_width;
  report(pen, note, &area);
}

void
sr_pen_direction(const SrPen* const pen, const bool draw, const double x, const double y,
                 const double size)
{
  cairo_t* const cairo = pen->cairo;
  const double up = draw ? -0.45 * size : 0.45 * size;
  cairo_move_to(cairo, x, y + up);
  cairo_line_to(cairo, x + 0.5 * size, y - up);
  cairo_line_to(cairo, x - 0.5 * size, y - up);
  cairo_close_path(cairo);
  cairo_fill(cairo);
}

void
sr_pen_round_path(const SrPen* const pen, const SrArea* const area, const double radius)
{
  cairo_t* const cairo = pen->cairo;
  const double right = area->left + area->width - radius;
  const double bottom = area->top + area->height - radius;
  cairo_new_sub_path(cairo);
  cairo_arc(cairo, right, area->top + radius, radius, -M_PI / 2.0, 0.0);
  cairo_arc(cairo, right, bottom, radius, 0.0, M_PI / 2.0);
  cairo_arc(cairo, area->left + radius, bottom, radius, M_PI / 2.0, M_PI);
  cairo_arc(cairo, area->left + radius, area->top + radius, radius, M_PI, 1.5 * M_PI);
  cairo_close_path(cairo);
}
