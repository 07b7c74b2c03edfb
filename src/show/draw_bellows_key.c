// SPDX-License-Identifier: GPL-3.0-or-later

#include "draw_bellows.h"
#include "draw_stroke.h"

#define SIGN_WIDTH 22.0
#define LINE 15.0 ///< Height of a line of the key
#define SIZE 8.6  ///< Of its words
#define HEIGHT (2.0 * LINE)

/// A sign and its meaning.
typedef struct {
  SrDrawnStroke stroke;
  const char* words;
} Sign;

/// Draw the line of a sign: a note in the key has the length SIGN_WIDTH.
static void
draw_sign(const SrPen* const pen, const SrDrawnStroke* const stroke, const double left,
          const double middle)
{
  const double slope = stroke->draw ? -2.5 : 2.5;
  const SrBellowsPiece piece = {left,           middle - slope, left + SIGN_WIDTH,
                                middle + slope, true,           true};
  sr_draw_stroke(pen, stroke, &piece, 0.8);
}

static void
draw_turn_sign(const SrPen* const pen, const double left, const double middle)
{
  const SrDrawnStroke draw = {.draw = true};
  const SrDrawnStroke press = {.draw = false};
  const double half = left + SIGN_WIDTH / 2.0;
  const SrBellowsPiece rises = {left, middle + 2.0, half, middle - 2.0, true, true};
  const SrBellowsPiece falls = {half, middle - 2.0, left + SIGN_WIDTH, middle + 2.0, true, true};
  sr_draw_stroke(pen, &draw, &rises, 0.8);
  sr_draw_stroke(pen, &press, &falls, 0.8);
  sr_draw_turn(pen, half, middle - 2.0, 0.8);
}

/// Draw the signs of the line; returns where they end.
static void
draw_signs(const SrPen* const pen, const SrFont* const font, const double left, const double middle,
           const double width)
{
  static const Sign SIGNS[] = {
      {{.draw = true}, "draw: opens, words above"},
      {{.draw = false}, "press: closes, words below"},
      {{.turns = true}, "turn"},
      {{.draw = true, .cut = SR_DRAWN_CUT}, "cut"},
      {{.draw = true, .air = true}, "air"},
  };
  const size_t count = sizeof(SIGNS) / sizeof(SIGNS[0]);
  const double baseline = middle + 0.37 * font->size;
  double used = 10.0 + sr_pen_width(pen, font, "beat");
  for (size_t i = 0; i < count; ++i) {
    used += SIGN_WIDTH + 4.0 + sr_pen_width(pen, font, SIGNS[i].words);
  }
  const double between = used < width ? (width - used) / (double)count : 4.0;
  double x = left;
  for (size_t i = 0; i < count; ++i) {
    if (SIGNS[i].stroke.turns) {
      draw_turn_sign(pen, x, middle);
    } else {
      draw_sign(pen, &SIGNS[i].stroke, x, middle);
    }
    x += SIGN_WIDTH + 4.0;
    x += sr_pen_say_on(pen, font, SIGNS[i].words, x, baseline) + between;
  }
  sr_pen_colour(pen, SR_COLOUR_INK);
  cairo_set_line_width(pen->cairo, 1.6);
  cairo_move_to(pen->cairo, x + 3.0, middle - 4.0);
  cairo_line_to(pen->cairo, x + 3.0, middle + 3.0);
  cairo_stroke(pen->cairo);
  (void)sr_pen_say_on(pen, font, "beat", x + 10.0, baseline);
}

/// Draw what fingers, octaves and shading mean.
static void
draw_words(const SrPen* const pen, const SrFont* const font, const double left, const double middle,
           const double right)
{
  static const char* const FINGERS[] = {"index", "middle", "ring", "little"};
  const double baseline = middle + 0.37 * font->size;
  const double ring = 1.2 * font->size;
  double x = left;
  for (int i = 0; i < 4; ++i) {
    sr_pen_finger(pen, (SrFinger)(SR_FINGER_INDEX + i), SR_COLOUR_INK, x, middle - ring / 2.0,
                  ring);
    x += ring + 3.0;
    x += sr_pen_say_on(pen, font, FINGERS[i], x, baseline) + 9.0;
  }
  const SrFont note = {.size = 1.25 * font->size, .bold = true, .colour = SR_COLOUR_INK};
  sr_pen_say_pitch(pen, &note, "C", "4", x, baseline);
  x += sr_pen_pitch_width(pen, &note, "C", "4") + 3.0;
  x += sr_pen_say_on(pen, font, "middle C; the octave above begins at", x, baseline) + 3.0;
  sr_pen_say_pitch(pen, &note, "C", "5", x, baseline);
  x += sr_pen_pitch_width(pen, &note, "C", "5") + 10.0;
  sr_pen_colour(pen, SR_COLOUR_SHADE);
  cairo_rectangle(pen->cairo, x, middle - 5.0, SIGN_WIDTH, 10.0);
  cairo_fill(pen->cairo);
  x += SIGN_WIDTH + 4.0;
  SrFont last = *font;
  last.most_width = right - x;
  (void)sr_pen_say_on(pen, &last, "low room: speaks less readily", x, baseline);
}

double
sr_draw_bellows_key(const SrPen* const pen, const double left, const double top, const double width)
{
  if (pen) {
    const SrFont font = {.size = SIZE, .colour = SR_COLOUR_INK};
    draw_signs(pen, &font, left, top + LINE / 2.0, width);
    draw_words(pen, &font, left, top + 1.5 * LINE, left + width);
  }
  return HEIGHT;
}
