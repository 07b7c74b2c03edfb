// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_words.h"
#include "draw_bellows.h"
#include "draw_stroke.h"

#define SIGN_WIDTH 26.0
#define HEIGHT 20.0

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
  const double slope = stroke->draw ? -3.0 : 3.0;
  const SrBellowsPiece piece = {left,           middle - slope, left + SIGN_WIDTH,
                                middle + slope, true,           true};
  sr_draw_stroke(pen, stroke, &piece, 1.0);
}

static void
draw_turn_sign(const SrPen* const pen, const double left, const double middle)
{
  const SrDrawnStroke draw = {.draw = true};
  const SrDrawnStroke press = {.draw = false};
  const double half = left + SIGN_WIDTH / 2.0;
  const SrBellowsPiece rises = {left, middle + 3.0, half, middle - 2.0, true, true};
  const SrBellowsPiece falls = {half, middle - 2.0, left + SIGN_WIDTH, middle + 3.0, true, true};
  sr_draw_stroke(pen, &draw, &rises, 1.0);
  sr_draw_stroke(pen, &press, &falls, 1.0);
  sr_draw_turn(pen, half, middle - 2.0, 1.0);
}

double
sr_draw_bellows_key(const SrPen* const pen, const double left, const double top, const double width)
{
  if (!pen) {
    return HEIGHT;
  }
  static const Sign SIGNS[] = {
      {{.draw = true}, "draw: opens"},
      {{.draw = false}, "press: closes"},
      {{.turns = true}, "turn"},
      {{.draw = true, .cut = SR_DRAWN_CUT}, "cut"},
      {{.draw = true, .air = true}, "air"},
  };
  const size_t count = sizeof(SIGNS) / sizeof(SIGNS[0]);
  const SrFont font = {.size = 9.5, .colour = SR_COLOUR_INK};
  const double middle = top + HEIGHT / 2.0;
  const double words_top = middle - sr_pen_height(&font) / 2.0;
  double used = 0.0;
  for (size_t i = 0; i < count; ++i) {
    used += SIGN_WIDTH + 5.0 + sr_pen_width(pen, &font, SIGNS[i].words);
  }
  used += SIGN_WIDTH + 5.0 + sr_pen_width(pen, &font, SR_SHADE_WORDS);
  const double between = used < width ? (width - used) / (double)count : 4.0;
  double x = left;
  for (size_t i = 0; i < count; ++i) {
    if (SIGNS[i].stroke.turns) {
      draw_turn_sign(pen, x, middle);
    } else {
      draw_sign(pen, &SIGNS[i].stroke, x, middle);
    }
    x += SIGN_WIDTH + 5.0;
    sr_pen_say(pen, &font, SIGNS[i].words, x, words_top);
    x += sr_pen_width(pen, &font, SIGNS[i].words) + between;
  }
  sr_pen_colour(pen, SR_COLOUR_SHADE);
  cairo_rectangle(pen->cairo, x, top + 3.0, SIGN_WIDTH, HEIGHT - 6.0);
  cairo_fill(pen->cairo);
  SrFont last = font;
  last.most_width = left + width - x - SIGN_WIDTH - 5.0;
  sr_pen_say(pen, &last, SR_SHADE_WORDS, x + SIGN_WIDTH + 5.0, words_top);
  return HEIGHT;
}
