// SPDX-License-Identifier: GPL-3.0-or-later

#include "draw_layout.h"

#include <math.h>
#include <stdio.h>

const char*
sr_finger_word(const SrFinger finger)
{
  switch (finger) {
  case SR_FINGER_THUMB:
    return "thumb";
  case SR_FINGER_INDEX:
    return "index";
  case SR_FINGER_MIDDLE:
    return "middle";
  case SR_FINGER_RING:
    return "ring";
  case SR_FINGER_LITTLE:
    return "little";
  }
  return "";
}

/// Outline of half a button: upper for a draw, lower for a press.
static void
half_path(const SrPen* const pen, const bool draw, const double x, const double y,
          const double radius)
{
  cairo_new_sub_path(pen->cairo);
  if (draw) {
    cairo_arc(pen->cairo, x, y, radius, M_PI, 2.0 * M_PI);
  } else {
    cairo_arc(pen->cairo, x, y, radius, 0.0, M_PI);
  }
  cairo_close_path(pen->cairo);
}

/// What the plan does with half a button.
typedef enum { UNUSED, CUTS_ONLY, PLAYS } Use;

static Use
use_of(const SrDrawnButton* const button, const bool draw)
{
  const bool plays = draw ? button->uses_draw : button->uses_press;
  const bool cuts = draw ? button->cuts_draw : button->cuts_press;
  return plays ? PLAYS : cuts ? CUTS_ONLY : UNUSED;
}

/// Fill half a button with upright stripes, like the ticks of cuts.
static void
draw_stripes(const SrPen* const pen, const bool draw, const double x, const double y,
             const double radius)
{
  cairo_t* const cairo = pen->cairo;
  cairo_save(cairo);
  half_path(pen, draw, x, y, radius);
  cairo_clip(cairo);
  sr_pen_colour(pen, draw ? SR_COLOUR_DRAW : SR_COLOUR_PRESS);
  cairo_set_line_width(cairo, 0.1 * radius);
  for (int i = -4; i <= 4; ++i) {
    const double at = x + 0.24 * i * radius;
    cairo_move_to(cairo, at, y - radius);
    cairo_line_to(cairo, at, y + radius);
    cairo_stroke(cairo);
  }
  cairo_restore(cairo);
}

/// Draw half a button with its note and the triangle of its direction.
static void
draw_half(const SrPen* const pen, const bool draw, const Use use, const char* const note,
          const double x, const double y, const double radius)
{
  const bool plays = use == PLAYS;
  half_path(pen, draw, x, y, radius);
  sr_pen_colour(pen, !plays ? SR_COLOUR_PAPER : draw ? SR_COLOUR_DRAW : SR_COLOUR_PRESS);
  cairo_fill(pen->cairo);
  if (use == CUTS_ONLY) {
    draw_stripes(pen, draw, x, y, radius);
  }
  const SrColour ink = use == UNUSED   ? SR_COLOUR_SOFT_INK
                       : plays && draw ? SR_COLOUR_PAPER
                                       : SR_COLOUR_INK;
  const double sign = draw ? -1.0 : 1.0;
  const SrFont font = {
      .size = 0.58 * radius, .bold = use != UNUSED, .colour = ink, .halo = use == CUTS_ONLY};
  sr_pen_say_note(pen, &font, *note ? note : "–", x, y + sign * 0.40 * radius);
  sr_pen_colour(pen, ink);
  sr_pen_direction(pen, draw, x, y + sign * 0.82 * radius, 0.2 * radius);
}

/// Draw a button without the words around it.
static void
draw_button(const SrPen* const pen, const SrDrawnButton* const button, const double x,
            const double y, const double radius)
{
  cairo_t* const cairo = pen->cairo;
  const bool used = use_of(button, true) != UNUSED || use_of(button, false) != UNUSED;
  draw_half(pen, true, use_of(button, true), button->draw, x, y, radius);
  draw_half(pen, false, use_of(button, false), button->press, x, y, radius);
  sr_pen_colour(pen, used ? SR_COLOUR_INK : SR_COLOUR_LINE);
  cairo_set_line_width(cairo, used ? 0.1 * radius : 0.05 * radius);
  cairo_move_to(cairo, x - radius, y);
  cairo_line_to(cairo, x + radius, y);
  cairo_stroke(cairo);
  cairo_set_line_width(cairo, used ? 0.14 * radius : 0.05 * radius);
  cairo_new_sub_path(cairo);
  cairo_arc(cairo, x, y, radius, 0.0, 2.0 * M_PI);
  cairo_stroke(cairo);
}

/// Draw the folds of the bellows between the hands, and label the hands.
static void
draw_box(const SrPen* const pen, const SrLayoutPlaces* const places, const double left,
         const double top)
{
  cairo_t* const cairo = pen->cairo;
  const double pitch = places->pitch;
  const SrArea* const hands[2] = {&places->hands[0].area, &places->hands[1].area};
  const double from = left + hands[0]->left + hands[0]->width;
  const double to = left + hands[1]->left;
  const double upper = top + 0.3 * pitch;
  const double lower = top + places->height - 0.3 * pitch;
  const int folds = 5;
  const double step = (to - from) / folds;
  sr_pen_colour(pen, SR_COLOUR_LINE);
  cairo_set_line_width(cairo, 0.7);
  for (int edge = 0; edge < 2; ++edge) {
    const double y = edge ? lower : upper;
    const double out = edge ? 0.16 * pitch : -0.16 * pitch;
    cairo_move_to(cairo, from, y);
    for (int i = 0; i < folds; ++i) {
      cairo_line_to(cairo, from + (i + 0.5) * step, y + out);
      cairo_line_to(cairo, from + (i + 1) * step, y);
    }
    cairo_stroke(cairo);
  }
  for (int i = 0; i < 2 * folds - 1; ++i) {
    const double x = from + (i + 1) * step / 2.0;
    const double out = i % 2 ? 0.0 : 0.16 * pitch;
    cairo_move_to(cairo, x, upper - out);
    cairo_line_to(cairo, x, lower + out);
    cairo_set_line_width(cairo, i % 2 ? 0.4 : 0.9);
    cairo_stroke(cairo);
  }
  for (int hand = 0; hand < 2; ++hand) {
    SrArea area = *hands[hand];
    area.left += left;
    area.top += top;
    sr_pen_round_path(pen, &area, 0.35 * pitch);
    sr_pen_colour(pen, SR_COLOUR_PANEL);
    cairo_fill_preserve(cairo);
    sr_pen_colour(pen, SR_COLOUR_LINE);
    cairo_set_line_width(cairo, 0.9);
    cairo_stroke(cairo);
  }
}

/// Draw the words above a hand: which finger plays which columns.
static void
draw_fingers(const SrPen* const pen, const SrLayoutPlaces* const places, const double left,
             const double top)
{
  cairo_t* const cairo = pen->cairo;
  const double pitch = places->pitch;
  for (int hand = 0; hand < 2; ++hand) {
    for (size_t i = 0; i < places->hands[hand].finger_count; ++i) {
      const SrFingerPlace* const finger = &places->hands[hand].fingers[i];
      const SrFont font = {.size = 0.2 * pitch,
                           .colour = SR_COLOUR_SOFT_INK,
                           .most_width = finger->right - finger->left};
      const double middle = (finger->left + finger->right) / 2.0;
      const double height = (finger->left_y + finger->right_y) / 2.0;
      sr_pen_say_middle(pen, &font, sr_finger_word(finger->finger), left + middle,
                        top + height - 0.06 * pitch - sr_pen_height(&font));
      sr_pen_colour(pen, SR_COLOUR_LINE);
      cairo_set_line_width(cairo, 0.02 * pitch);
      cairo_move_to(cairo, left + finger->left, top + finger->left_y);
      cairo_line_to(cairo, left + finger->right, top + finger->right_y);
      cairo_stroke(cairo);
    }
  }
}

static void
draw_air(const SrPen* const pen, const SrDrawnLayout* const layout,
         const SrLayoutPlaces* const places, const double left, const double top)
{
  cairo_t* const cairo = pen->cairo;
  SrArea area = places->air;
  area.left += left;
  area.top += top;
  sr_pen_round_path(pen, &area, 0.45 * area.height);
  sr_pen_colour(pen, layout->uses_air ? SR_COLOUR_AIR : SR_COLOUR_PAPER);
  cairo_fill_preserve(cairo);
  sr_pen_colour(pen, layout->uses_air ? SR_COLOUR_INK : SR_COLOUR_LINE);
  cairo_set_line_width(cairo, layout->uses_air ? 0.05 * places->pitch : 0.02 * places->pitch);
  cairo_stroke(cairo);
  const SrFont font = {.size = 0.27 * places->pitch,
                       .bold = layout->uses_air,
                       .colour = layout->uses_air ? SR_COLOUR_INK : SR_COLOUR_SOFT_INK};
  sr_pen_say_middle(pen, &font, "air", area.left + area.width / 2.0,
                    area.top + (area.height - sr_pen_height(&font)) / 2.0);
  const SrFont small = {
      .size = 0.18 * places->pitch, .colour = SR_COLOUR_SOFT_INK, .most_width = area.width};
  sr_pen_say_middle(pen, &small, sr_finger_word(layout->air_finger), area.left + area.width / 2.0,
                    area.top + area.height + 0.06 * places->pitch);
}

/// Draw the name of a button, and its finger if the words above the hand do not show it.
static void
draw_button_words(const SrPen* const pen, const SrDrawnButton* const button,
                  const SrButtonPlace* const place, const SrFont* const font, const double x,
                  const double top)
{
  const char* const finger = sr_finger_word(button->finger);
  if (!place->own_finger || button->row < 1) {
    sr_pen_say_middle(pen, font, button->name, x, top);
    if (place->own_finger) {
      sr_pen_say_middle(pen, font, finger, x, top + 1.1 * sr_pen_height(font));
    }
    return;
  }
  char words[64];
  snprintf(words, sizeof(words), "%s %s", button->name, finger);
  sr_pen_say_middle(pen, font, words, x, top);
}

void
sr_draw_layout(const SrPen* const pen, const SrDrawnLayout* const layout,
               const SrLayoutPlaces* const places, const double left, const double top)
{
  draw_box(pen, places, left, top);
  draw_fingers(pen, places, left, top);
  draw_air(pen, layout, places, left, top);
  for (size_t i = 0; i < layout->count; ++i) {
    const SrDrawnButton* const button = &layout->buttons[i];
    const SrButtonPlace* const place = &places->places[i];
    const double x = left + place->x;
    const double y = top + place->y;
    draw_button(pen, button, x, y, places->radius);
    const bool used = use_of(button, true) != UNUSED || use_of(button, false) != UNUSED;
    const SrFont font = {.size = 0.18 * places->pitch,
                         .bold = used,
                         .colour = used ? SR_COLOUR_INK : SR_COLOUR_SOFT_INK,
                         .most_width = 0.94 * places->pitch};
    draw_button_words(pen, button, place, &font, x, y + places->radius + 0.05 * places->pitch);
  }
}

double
sr_draw_layout_key(const SrPen* const pen, const bool planned, const double left, const double top,
                   const double width, const double size)
{
  const double radius = 15.0 * size;
  const double height = 2.0 * radius + 4.0;
  if (!pen) {
    return height;
  }
  const double x = left + radius + 2.0;
  const double y = top + height / 2.0;
  const SrDrawnButton sample = {
      .press = "C5", .draw = "D5", .uses_press = planned, .cuts_draw = planned};
  draw_button(pen, &sample, x, y, radius);
  const SrFont font = {
      .size = 9.5 * size, .colour = SR_COLOUR_INK, .most_width = width - 2.0 * radius - 12.0};
  sr_pen_say(pen, &font, "upper half: draw, what sounds when the bellows open", x + radius + 8.0,
             y - 0.5 * radius - sr_pen_height(&font) / 2.0);
  sr_pen_say(
      pen, &font,
      planned
          ? "lower half: press, when they close; filled: the plan plays it; striped: only for a cut"
          : "lower half: press, what sounds when they close",
      x + radius + 8.0, y + 0.5 * radius - sr_pen_height(&font) / 2.0);
  return height;
}
