// SPDX-License-Identifier: GPL-3.0-or-later

// Notes with their octave, and fingers, as the pen draws them.

#include "pen.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/// Heights of the small figures against a capital letter; together less than 1.
#define OCTAVE 0.45
#define ACCIDENTAL 0.5
/// Distance between the letter and them, against its size.
#define BESIDE 0.03

/// The letter of a name, the rest is its accidental.
static void
split_name(const char* const name, char letter[2], const char** const accidental)
{
  snprintf(letter, 2, "%.1s", name);
  *accidental = *name ? name + 1 : name;
}

static SrFont
small_font(const SrFont* const font, const double share)
{
  SrFont small = *font;
  small.size = share * font->size;
  small.most_width = 0.0;
  return small;
}

/// The font of an accidental as tall as it may be: the sign is taller than letters of its size.
static SrFont
accidental_font(const SrPen* const pen, const SrFont* const font, const char* const accidental)
{
  const SrFont whole = small_font(font, 1.0);
  const double tall = *accidental ? sr_pen_ink(pen, &whole, accidental).height : 0.0;
  const double wanted = ACCIDENTAL * sr_pen_capital(pen, font->bold) * font->size;
  return small_font(font, tall > 0.0 ? wanted / tall : ACCIDENTAL);
}

double
sr_pen_pitch_width(const SrPen* const pen, const SrFont* const font, const char* const name,
                   const char* const octave)
{
  char letter[2];
  const char* accidental;
  split_name(name, letter, &accidental);
  const SrFont above = accidental_font(pen, font, accidental);
  const SrFont below = small_font(font, OCTAVE);
  const SrFont whole = small_font(font, 1.0);
  return sr_pen_width(pen, &whole, letter) + BESIDE * font->size +
         fmax(sr_pen_width(pen, &above, accidental), sr_pen_width(pen, &below, octave));
}

void
sr_pen_say_pitch(const SrPen* const pen, const SrFont* const font, const char* const name,
                 const char* const octave, const double left, const double baseline)
{
  char letter[2];
  const char* accidental;
  split_name(name, letter, &accidental);
  SrPen quiet = *pen;
  quiet.said = NULL;
  const double width = sr_pen_pitch_width(pen, font, name, octave);
  SrFont whole = small_font(font, 1.0);
  if (font->most_width > 0.0 && width > font->most_width) {
    whole.size *= font->most_width / width;
  }
  const double capital = sr_pen_capital(pen, font->bold) * whole.size;
  const SrFont below = small_font(&whole, OCTAVE);
  const double right =
      left + sr_pen_say_on(&quiet, &whole, letter, left, baseline) + BESIDE * whole.size;
  double end = right + sr_pen_say_on(&quiet, &below, octave, right, baseline);
  if (*accidental) {
    const SrFont above = accidental_font(pen, &whole, accidental);
    // Its top is level with that of the letter
    const double down = -sr_pen_ink(pen, &above, accidental).top;
    end = fmax(end,
               right + sr_pen_say_on(&quiet, &above, accidental, right, baseline - capital + down));
  }
  if (pen->said) {
    char words[32];
    const SrArea area = {left, baseline - capital, end - left, capital};
    snprintf(words, sizeof(words), "%s%s", name, octave);
    pen->said(pen->said_context, words, &area);
  }
}

void
sr_pen_finger(const SrPen* const pen, const SrFinger finger, const SrColour colour,
              const double left, const double top, const double height)
{
  cairo_t* const cairo = pen->cairo;
  const double radius = height / 2.0;
  const double line = 0.09 * height;
  char figure[8];
  snprintf(figure, sizeof(figure), finger == SR_FINGER_THUMB ? "T" : "%d", (int)finger);
  sr_pen_colour(pen, SR_COLOUR_PAPER);
  cairo_new_sub_path(cairo);
  cairo_arc(cairo, left + radius, top + radius, radius - line / 2.0, 0.0, 2.0 * M_PI);
  cairo_fill_preserve(cairo);
  sr_pen_colour(pen, colour);
  cairo_set_line_width(cairo, line);
  cairo_stroke(cairo);
  const double capital = sr_pen_capital(pen, true);
  const SrFont font = {.size = 0.62 * height / capital, .bold = true, .colour = colour};
  SrPen quiet = *pen;
  quiet.said = NULL;
  (void)sr_pen_say_on(&quiet, &font, figure, left + radius - sr_pen_width(pen, &font, figure) / 2.0,
                      top + radius + 0.31 * height);
  if (pen->said) {
    char words[16];
    const SrArea area = {left, top, height, height};
    snprintf(words, sizeof(words), "(%s)", figure);
    pen->said(pen->said_context, words, &area);
  }
}
