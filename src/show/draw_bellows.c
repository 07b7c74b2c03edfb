// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_picture.h"

#include "draw_stroke.h"

#include <math.h>
#include <stdio.h>

#define NUMBER_SIZE 9.0 ///< Of bar numbers

size_t
sr_bellows_picture_systems(const SrBellowsPicture* const picture)
{
  return picture->system_count;
}

double
sr_bellows_picture_height(const SrBellowsPicture* const picture, const size_t system)
{
  const SrBellowsLine* const one = &picture->systems[system];
  return one->over + one->box.area.height + one->under;
}

/// Draw the box: shaded parts, floor and ceiling.
static void
draw_box(const SrPen* const pen, const SrBellowsBox* const scale)
{
  cairo_t* const cairo = pen->cairo;
  const SrArea* const box = &scale->area;
  const double low = sr_bellows_y(scale, 1.0 - SR_LOW_ROOM) - box->top;
  sr_pen_colour(pen, SR_COLOUR_SHADE);
  cairo_rectangle(cairo, box->left, box->top, box->width, low);
  cairo_rectangle(cairo, box->left, box->top + box->height - low, box->width, low);
  cairo_fill(cairo);
  sr_pen_colour(pen, SR_COLOUR_INK);
  cairo_set_line_width(cairo, 1.2);
  for (int edge = 0; edge < 2; ++edge) {
    const double y = box->top + edge * box->height;
    cairo_move_to(cairo, box->left, y);
    cairo_line_to(cairo, box->left + box->width, y);
    cairo_stroke(cairo);
  }
}

/// Label ceiling and floor at the left.
static void
draw_axis_words(const SrPen* const pen, const SrArea* const box)
{
  const SrFont font = {
      .size = 7.5, .colour = SR_COLOUR_SOFT_INK, .most_width = SR_BELLOWS_LEFT - 3.0};
  const double height = sr_pen_height(&font);
  static const char* const WORDS[3] = {"out of", "room", "shut"};
  const double tops[3] = {box->top - 0.2 * height, box->top + 0.85 * height,
                          box->top + box->height - 0.75 * height};
  for (int i = 0; i < 3; ++i) {
    sr_pen_say(pen, &font, WORDS[i], box->left - 4.0 - sr_pen_width(pen, &font, WORDS[i]), tops[i]);
  }
}

/// Draw bar lines from the number down to the floor, with a thick one at the end of the phrase.
static void
draw_bars(const SrBellowsPicture* const picture, const SrPen* const pen,
          const SrBellowsLine* const system, const SrArea* const box, const double top)
{
  cairo_t* const cairo = pen->cairo;
  const SrDrawnPhrase* const phrase = picture->phrase;
  const double bottom = box->top + box->height;
  const SrFont font = {.size = NUMBER_SIZE, .bold = true, .colour = SR_COLOUR_SOFT_INK};
  sr_pen_colour(pen, SR_COLOUR_SOFT_INK);
  cairo_set_line_width(cairo, 0.9);
  for (size_t i = 0; i < system->bars.bar_count; ++i) {
    const SrDrawnBar* const bar = &phrase->bars[system->bars.first_bar + i];
    const bool begins = bar->start >= system->bars.from - 1e-9;
    const double x = box->left + fmax(0.0, (bar->start - system->bars.from) * system->box.per_time);
    sr_pen_colour(pen, SR_COLOUR_SOFT_INK);
    cairo_set_line_width(cairo, 0.9);
    cairo_move_to(cairo, x, begins ? top + 1.0 : box->top);
    cairo_line_to(cairo, x, bottom);
    cairo_stroke(cairo);
    if (begins && bar->number > 0) {
      char number[16];
      snprintf(number, sizeof(number), "%d", bar->number);
      sr_pen_say(pen, &font, number, x + 3.0, top);
    }
  }
  const double right = box->left + box->width;
  const bool last = system == &picture->systems[picture->system_count - 1];
  sr_pen_colour(pen, SR_COLOUR_INK);
  cairo_set_line_width(cairo, last ? 2.4 : 0.9);
  cairo_move_to(cairo, right, box->top - 0.6);
  cairo_line_to(cairo, right, bottom + 0.6);
  cairo_stroke(cairo);
}

/// Draw a thin line where the bellows rest.
static void
draw_rests(const SrBellowsPicture* const picture, const SrPen* const pen,
           const SrBellowsLine* const system, const SrBellowsBox* const box)
{
  const SrDrawnPhrase* const phrase = picture->phrase;
  cairo_t* const cairo = pen->cairo;
  const SrBellowsSystem* const bars = &system->bars;
  double time = bars->from;
  double opening = 0.0;
  bool known = false;
  if (bars->first_stroke > 0) {
    opening = phrase->strokes[bars->first_stroke - 1].after;
    known = true;
  } else if (bars->stroke_count) {
    opening = phrase->strokes[bars->first_stroke].before;
    known = true;
  }
  sr_pen_colour(pen, SR_COLOUR_SOFT_INK);
  cairo_set_line_width(cairo, 0.9);
  for (size_t i = 0; known && i <= bars->stroke_count; ++i) {
    const SrDrawnStroke* const stroke =
        i < bars->stroke_count ? &phrase->strokes[bars->first_stroke + i] : NULL;
    const double until = stroke ? fmin(stroke->start, bars->to) : bars->to;
    if (until > time + 1e-9) {
      cairo_move_to(cairo, sr_bellows_x(box, time), sr_bellows_y(box, opening));
      cairo_line_to(cairo, sr_bellows_x(box, until),
                    sr_bellows_y(box, stroke ? stroke->before : opening));
      cairo_stroke(cairo);
    }
    if (stroke) {
      time = fmax(time, stroke->start + stroke->length);
      opening = stroke->after;
    }
  }
}

/// Draw a thread from displaced words to their note.
static void
draw_thread(const SrPen* const pen, const SrArea* const area, const SrBellowsPiece* const piece)
{
  const bool above = area->top + area->height < fmin(piece->y0, piece->y1);
  const double x = fmax(area->left + 1.0, fmin(piece->x0 + 1.5, area->left + area->width - 1.0));
  cairo_move_to(pen->cairo, x, above ? area->top + area->height : area->top);
  cairo_line_to(pen->cairo, piece->x0 + 1.5,
                piece->y0 + (above ? -SR_STROKE_HALF : SR_STROKE_HALF));
  sr_pen_colour(pen, SR_COLOUR_LINE);
  cairo_set_line_width(pen->cairo, 0.6);
  cairo_stroke(pen->cairo);
}

void
sr_bellows_picture_draw(const SrBellowsPicture* const picture, const SrPen* const pen,
                        const size_t index, const double left, const double top, const bool first)
{
  const SrBellowsLine* const system = &picture->systems[index];
  SrBellowsBox box = system->box;
  box.area.left += left;
  box.area.top = top + system->over;
  draw_box(pen, &box);
  if (first && system->shade_words.width > 0.0) {
    const SrFont font = sr_shade_font();
    sr_pen_say(pen, &font, SR_SHADE_WORDS, left + system->shade_words.left,
               box.area.top + system->shade_words.top);
  }
  draw_axis_words(pen, &box.area);
  draw_bars(picture, pen, system, &box.area, top);
  draw_rests(picture, pen, system, &box);
  const SrDrawnStroke* const strokes = picture->phrase->strokes;
  for (size_t i = 0; i < system->label_count; ++i) {
    const SrBellowsLabel* const label = &system->labels[i];
    SrBellowsPiece piece;
    if (label->thread && sr_bellows_piece(&box, &strokes[label->stroke], system->bars.from,
                                          system->bars.to, &piece)) {
      SrArea area = label->area;
      area.left += left;
      area.top += box.area.top;
      draw_thread(pen, &area, &piece);
    }
  }
  const size_t end = system->bars.first_stroke + system->bars.stroke_count;
  for (int pass = 0; pass < 2; ++pass) {
    for (size_t i = system->bars.first_stroke; i < end; ++i) {
      SrBellowsPiece piece;
      if (!sr_bellows_piece(&box, &strokes[i], system->bars.from, system->bars.to, &piece)) {
        continue;
      }
      if (!pass) {
        sr_draw_stroke(pen, &strokes[i], &piece, picture->sign_size);
      } else if (strokes[i].turns && piece.begins) {
        sr_draw_turn(pen, piece.x0, piece.y0, picture->sign_size);
      }
    }
  }
  for (size_t i = 0; i < system->label_count; ++i) {
    SrArea area = system->labels[i].area;
    area.left += left;
    area.top += box.area.top;
    sr_bellows_words_say(pen, &strokes[system->labels[i].stroke], system->labels[i].kind,
                         picture->scale, &area);
  }
}
