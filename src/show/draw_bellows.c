// SPDX-License-Identifier: GPL-3.0-or-later

#include "draw_bellows.h"

#include "draw_stroke.h"
#include "label_place.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BOX_HEIGHT 112.0   ///< From shut to full
#define LEFT_ROOM 30.0     ///< For the words at the left
#define RIGHT_ROOM 2.0     ///< Half of the last bar line, and a turn
#define NUMBER_SIZE 9.0    ///< Of bar numbers
#define NUMBER_ROOM 11.0   ///< Over all words of a line
#define NAME_SIZE 14.0     ///< Of a note
#define BUTTON_SIZE 8.6    ///< Of its button
#define SMALL_NAME 8.6     ///< Of a cut
#define SMALL_BUTTON 7.0   ///< Of its button
#define GAP 1.2            ///< Between a note and its button
#define CLEAR 3.2          ///< Between the line's marks and words
#define LONGEST_UNIT 380.0 ///< Most width of a bar
#define LEADER 6.0         ///< Words moved further than this get a thread to their note

/// What words are about.
typedef enum { LABEL_NOTE, LABEL_GOES_ON, LABEL_CUT, LABEL_AIR } LabelKind;

/// Words beside the line.
typedef struct {
  SrArea area; ///< From the system's left and the box's top
  size_t stroke;
  LabelKind kind;
  bool thread;
} Label;

/// A line of the page.
typedef struct {
  SrBellowsSystem bars;
  SrBellowsBox box; ///< Its area begins at LEFT_ROOM, 0
  Label* labels;
  size_t label_count;
  double over; ///< What stands over the box, with the numbers
  double under;
  SrArea shade_words; ///< Where the words for the shaded parts may stand; width 0 for nowhere
} System;

struct SrBellowsPictureImpl {
  const SrDrawnPhrase* phrase;
  System* systems;
  size_t system_count;
  double width;
  double scale; ///< Of letters
  double shade_width;
};

static SrFont
name_font(const double scale)
{
  const SrFont font = {
      .size = NAME_SIZE * scale, .bold = true, .colour = SR_COLOUR_INK, .halo = true};
  return font;
}

static SrFont
button_font(const double scale)
{
  const SrFont font = {.size = BUTTON_SIZE * scale,
                       .colour = SR_COLOUR_INK,
                       .halo = true,
                       .most_width = 60.0 * scale};
  return font;
}

static SrFont
cut_name_font(const double scale)
{
  const SrFont font = {
      .size = SMALL_NAME * scale, .bold = true, .colour = SR_COLOUR_SOFT_INK, .halo = true};
  return font;
}

static SrFont
cut_button_font(const double scale)
{
  const SrFont font = {.size = SMALL_BUTTON * scale,
                       .colour = SR_COLOUR_SOFT_INK,
                       .halo = true,
                       .most_width = 50.0 * scale};
  return font;
}

static SrFont
air_font(const double scale)
{
  const SrFont font = {.size = 10.0 * scale, .bold = true, .colour = SR_COLOUR_INK, .halo = true};
  return font;
}

static SrFont
shade_font(void)
{
  const SrFont font = {.size = 7.5, .colour = SR_COLOUR_SOFT_INK};
  return font;
}

static const char SHADE_WORDS[] = "low room: speaks less readily";

/// Two lines of words, the upper one larger.
static void
measure_pair(const SrPen* const pen, const SrFont* const upper, const char* const upper_words,
             const SrFont* const lower, const char* const lower_words, SrArea* const area)
{
  area->width = fmax(sr_pen_width(pen, upper, upper_words), sr_pen_width(pen, lower, lower_words));
  area->height = sr_pen_height(upper) + GAP + sr_pen_height(lower);
}

static const char*
cut_word(const SrDrawnStroke* const stroke)
{
  return stroke->cut == SR_DRAWN_CUT_LEFT_OUT ? "left out" : stroke->cut_button;
}

static void
measure_label(const SrPen* const pen, const SrDrawnStroke* const stroke, const LabelKind kind,
              const double scale, SrArea* const area)
{
  switch (kind) {
  case LABEL_NOTE: {
    const SrFont name = name_font(scale);
    const SrFont button = button_font(scale);
    measure_pair(pen, &name, stroke->name, &button, stroke->button, area);
    return;
  }
  case LABEL_GOES_ON: {
    const SrFont font = cut_name_font(scale);
    area->width = sr_pen_width(pen, &font, stroke->name) + sr_pen_width(pen, &font, "()");
    area->height = sr_pen_height(&font);
    return;
  }
  case LABEL_CUT: {
    const SrFont name = cut_name_font(scale);
    const SrFont button = cut_button_font(scale);
    measure_pair(pen, &name, stroke->cut_name, &button, cut_word(stroke), area);
    return;
  }
  case LABEL_AIR: {
    const SrFont font = air_font(scale);
    area->width = sr_pen_width(pen, &font, "air");
    area->height = sr_pen_height(&font);
    return;
  }
  }
}

/// Width of a note's words.
static double
label_width(const SrPen* const pen, const SrDrawnStroke* const stroke, const double scale)
{
  SrArea area = {0};
  measure_label(pen, stroke, LABEL_NOTE, scale, &area);
  return area.width;
}

/// The longest time on a line.
static double
longest(const SrBellowsSystem* const systems, const size_t count)
{
  double most = 0.0;
  for (size_t i = 0; i < count; ++i) {
    most = fmax(most, systems[i].to - systems[i].from);
  }
  return most;
}

/// Share of the notes whose words are no wider than they are long.
static double
share_that_fits(const SrDrawnPhrase* const phrase, const double* const widths, const double scale,
                const double per_time)
{
  size_t fits = 0;
  for (size_t i = 0; i < phrase->stroke_count; ++i) {
    fits += widths[i] * scale + 2.0 <= phrase->strokes[i].length * per_time;
  }
  return phrase->stroke_count ? (double)fits / (double)phrase->stroke_count : 1.0;
}

/// Break into lines; without a wish, as many bars on each as keep words on their notes.
static SrStatus
choose_systems(const SrPen* const pen, const SrDrawnPhrase* const phrase, const double width,
               const size_t bars_a_line, SrBellowsSystem** const systems, size_t* const count,
               double* const scale)
{
  static const struct {
    size_t bars;
    double scale;
  } WAYS[] = {{4, 1.0}, {3, 1.0},  {2, 1.0}, {4, 0.9},  {3, 0.9}, {2, 0.9},
              {2, 0.8}, {2, 0.68}, {1, 1.0}, {1, 0.85}, {1, 0.68}};
  const size_t way_count = sizeof(WAYS) / sizeof(WAYS[0]);
  double* const widths = malloc((phrase->stroke_count + 1) * sizeof(double));
  if (!widths) {
    return SR_NO_MEMORY;
  }
  for (size_t i = 0; i < phrase->stroke_count; ++i) {
    widths[i] = label_width(pen, &phrase->strokes[i], 1.0);
  }
  SrStatus status = SR_OK;
  for (size_t way = 0; way < way_count; ++way) {
    if (bars_a_line && WAYS[way].bars != 2 && way + 1 < way_count) {
      continue; // The number is given: only the sizes are tried.
    }
    const size_t bars = bars_a_line ? bars_a_line : WAYS[way].bars;
    status = sr_bellows_systems(phrase, bars, systems, count);
    if (status != SR_OK) {
      break;
    }
    *scale = WAYS[way].scale;
    const double per_time = width / longest(*systems, *count);
    if (way + 1 == way_count || share_that_fits(phrase, widths, *scale, per_time) >= 0.9) {
      break;
    }
    free(*systems);
  }
  free(widths);
  return status;
}

/// Add words to a line.
static void
add_label(const SrBellowsPicture* const picture, const SrPen* const pen, System* const system,
          SrLabelField* const field, const size_t index, const LabelKind kind, const double x,
          const bool above)
{
  const SrDrawnStroke* const stroke = &picture->phrase->strokes[index];
  Label* const label = &system->labels[system->label_count++];
  SrArea area = {0};
  measure_label(pen, stroke, kind, picture->scale, &area);
  double moved = 0.0;
  label->area = sr_label_place(field, x, area.width, area.height, above, &moved);
  label->stroke = index;
  label->kind = kind;
  label->thread = moved > LEADER;
}

/// Find a place for all words of a line.
static void
place_labels(const SrBellowsPicture* const picture, const SrPen* const pen, System* const system,
             const SrBellowsPiece* const pieces, SrLabelField* const field)
{
  const size_t first = system->bars.first_stroke;
  const size_t count = system->bars.stroke_count;
  for (size_t i = 0; i < count; ++i) {
    const SrDrawnStroke* const stroke = &picture->phrase->strokes[first + i];
    add_label(picture, pen, system, field, first + i, pieces[i].begins ? LABEL_NOTE : LABEL_GOES_ON,
              pieces[i].x0 + 0.8, stroke->draw);
  }
  for (size_t i = 0; i < count; ++i) {
    const SrDrawnStroke* const stroke = &picture->phrase->strokes[first + i];
    if (pieces[i].begins && stroke->cut != SR_DRAWN_NO_CUT) {
      add_label(picture, pen, system, field, first + i, LABEL_CUT, pieces[i].x0 + 0.8,
                !stroke->draw);
    }
    if (pieces[i].begins && stroke->air) {
      SrArea area = {0};
      measure_label(pen, stroke, LABEL_AIR, picture->scale, &area);
      const double x = fmax(pieces[i].x0, (pieces[i].x0 + pieces[i].x1 - area.width) / 2.0);
      add_label(picture, pen, system, field, first + i, LABEL_AIR, x, !stroke->draw);
    }
  }
}

/// Where the words for the shaded parts may stand.
static void
place_shade_words(const SrBellowsPicture* const picture, const SrLabelField* const field,
                  System* const system)
{
  const SrArea* const box = &system->box.area;
  const SrFont font = shade_font();
  const double height = sr_pen_height(&font);
  const double middles[2] = {box->height * (1.0 - SR_LOW_ROOM / 2.0),
                             box->height * SR_LOW_ROOM / 2.0};
  for (int side = 0; side < 2; ++side) {
    for (double x = box->left + 5.0; x + picture->shade_width < box->left + box->width - 3.0;
         x += 5.0) {
      const SrArea area = {x, middles[side] - height / 2.0, picture->shade_width, height};
      if (sr_label_is_free(field, &area)) {
        system->shade_words = area;
        return;
      }
    }
  }
}

/// Lay one line out.
static SrStatus
lay_out(const SrBellowsPicture* const picture, const SrPen* const pen, System* const system)
{
  const size_t count = system->bars.stroke_count;
  const size_t first = system->bars.first_stroke;
  const size_t room = 3 * count + system->bars.bar_count + 3;
  SrBellowsPiece* const pieces = calloc(count + 1, sizeof(SrBellowsPiece));
  SrArea* const taken = calloc(room, sizeof(SrArea));
  system->labels = calloc(3 * count + 1, sizeof(Label));
  if (!pieces || !taken || !system->labels) {
    free(pieces);
    free(taken);
    return SR_NO_MEMORY;
  }
  for (size_t i = 0; i < count; ++i) {
    (void)sr_bellows_piece(&system->box, &picture->phrase->strokes[first + i], system->bars.from,
                           system->bars.to, &pieces[i]);
  }
  const SrArea* const box = &system->box.area;
  SrLabelField field = {.pieces = pieces,
                        .piece_count = count,
                        .half = SR_STROKE_MARK + CLEAR,
                        .left = box->left,
                        .right = picture->width,
                        .taken = taken,
                        .room = room};
  // Words do not lie across the ceiling or the floor.
  const SrArea ceiling = {box->left, 0.0, box->width, 0.5};
  const SrArea floor_line = {box->left, box->height, box->width, 0.5};
  sr_label_take(&field, &ceiling);
  sr_label_take(&field, &floor_line);
  place_labels(picture, pen, system, pieces, &field);
  double top = 0.0;
  double bottom = box->height;
  for (size_t i = 0; i < system->label_count; ++i) {
    const SrArea* const area = &system->labels[i].area;
    top = fmin(top, area->top);
    bottom = fmax(bottom, area->top + area->height);
  }
  system->over = NUMBER_ROOM - top;
  system->under = bottom - box->height + 2.0;
  place_shade_words(picture, &field, system);
  free(pieces);
  free(taken);
  return SR_OK;
}

SrStatus
sr_bellows_picture_new(const SrPen* const pen, const SrDrawnPhrase* const phrase,
                       const double width, const size_t bars_a_line,
                       SrBellowsPicture** const picture)
{
  *picture = NULL;
  SrBellowsPicture* const made = calloc(1, sizeof(SrBellowsPicture));
  if (!made) {
    return SR_NO_MEMORY;
  }
  made->phrase = phrase;
  made->width = width;
  const SrFont font = shade_font();
  made->shade_width = sr_pen_width(pen, &font, SHADE_WORDS);
  const double room = width - LEFT_ROOM - RIGHT_ROOM;
  SrBellowsSystem* systems = NULL;
  SrStatus status =
      choose_systems(pen, phrase, room, bars_a_line, &systems, &made->system_count, &made->scale);
  made->systems = status == SR_OK ? calloc(made->system_count, sizeof(System)) : NULL;
  if (!made->systems) {
    free(systems);
    free(made);
    return SR_NO_MEMORY;
  }
  // One measure for all lines, so that equal notes are equally long on the page.
  double bar = 0.0;
  for (size_t i = 0; i < phrase->bar_count; ++i) {
    bar = fmax(bar, phrase->bars[i].length);
  }
  const double per_time = fmin(room / longest(systems, made->system_count), LONGEST_UNIT / bar);
  for (size_t i = 0; i < made->system_count && status == SR_OK; ++i) {
    System* const system = &made->systems[i];
    system->bars = systems[i];
    system->box.from = systems[i].from;
    system->box.per_time = per_time;
    system->box.area.left = LEFT_ROOM;
    system->box.area.width = (systems[i].to - systems[i].from) * per_time;
    system->box.area.height = BOX_HEIGHT;
    status = lay_out(made, pen, system);
  }
  free(systems);
  if (status != SR_OK) {
    sr_bellows_picture_del(made);
    return status;
  }
  *picture = made;
  return SR_OK;
}

void
sr_bellows_picture_del(SrBellowsPicture* const picture)
{
  if (!picture) {
    return;
  }
  for (size_t i = 0; i < picture->system_count; ++i) {
    free(picture->systems[i].labels);
  }
  free(picture->systems);
  free(picture);
}

size_t
sr_bellows_picture_systems(const SrBellowsPicture* const picture)
{
  return picture->system_count;
}

double
sr_bellows_picture_height(const SrBellowsPicture* const picture, const size_t system)
{
  const System* const one = &picture->systems[system];
  return one->over + one->box.area.height + one->under;
}

/// The box: its shaded parts, its floor and its ceiling.
static void
draw_box(const SrPen* const pen, const SrArea* const box)
{
  cairo_t* const cairo = pen->cairo;
  const double low = SR_LOW_ROOM * box->height;
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

/// What ceiling and floor are, at the left.
static void
draw_axis_words(const SrPen* const pen, const SrArea* const box)
{
  const SrFont font = {.size = 7.5, .colour = SR_COLOUR_SOFT_INK, .most_width = LEFT_ROOM - 3.0};
  const double height = sr_pen_height(&font);
  static const char* const WORDS[3] = {"out of", "room", "shut"};
  const double tops[3] = {box->top - 0.2 * height, box->top + 0.85 * height,
                          box->top + box->height - 0.75 * height};
  for (int i = 0; i < 3; ++i) {
    sr_pen_say(pen, &font, WORDS[i], box->left - 4.0 - sr_pen_width(pen, &font, WORDS[i]), tops[i]);
  }
}

/// Bar lines from the number down to the floor; a double one at the end of the phrase.
static void
draw_bars(const SrBellowsPicture* const picture, const SrPen* const pen, const System* const system,
          const SrArea* const box, const double top)
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
  if (last) {
    cairo_set_line_width(cairo, 0.9);
    cairo_move_to(cairo, right - 4.0, box->top);
    cairo_line_to(cairo, right - 4.0, bottom);
    cairo_stroke(cairo);
  }
}

/// A thin line where the bellows rest.
static void
draw_rests(const SrBellowsPicture* const picture, const SrPen* const pen,
           const System* const system, const SrBellowsBox* const box)
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

/// A thread from words that had to move to their note.
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

static void
say_pair(const SrPen* const pen, const SrFont* const upper, const char* const upper_words,
         const SrFont* const lower, const char* const lower_words, const SrArea* const area)
{
  sr_pen_say(pen, upper, upper_words, area->left, area->top);
  sr_pen_say(pen, lower, lower_words, area->left, area->top + sr_pen_height(upper) + GAP);
}

static void
draw_label(const SrBellowsPicture* const picture, const SrPen* const pen, const Label* const label,
           const SrArea* const area)
{
  const SrDrawnStroke* const stroke = &picture->phrase->strokes[label->stroke];
  switch (label->kind) {
  case LABEL_NOTE: {
    const SrFont name = name_font(picture->scale);
    const SrFont button = button_font(picture->scale);
    say_pair(pen, &name, stroke->name, &button, stroke->button, area);
    return;
  }
  case LABEL_GOES_ON: {
    const SrFont font = cut_name_font(picture->scale);
    char words[32];
    snprintf(words, sizeof(words), "(%s)", stroke->name);
    sr_pen_say(pen, &font, words, area->left, area->top);
    return;
  }
  case LABEL_CUT: {
    const SrFont name = cut_name_font(picture->scale);
    const SrFont button = cut_button_font(picture->scale);
    say_pair(pen, &name, stroke->cut_name, &button, cut_word(stroke), area);
    return;
  }
  case LABEL_AIR: {
    const SrFont font = air_font(picture->scale);
    sr_pen_say(pen, &font, "air", area->left, area->top);
    return;
  }
  }
}

void
sr_bellows_picture_draw(const SrBellowsPicture* const picture, const SrPen* const pen,
                        const size_t index, const double left, const double top, const bool first)
{
  const System* const system = &picture->systems[index];
  SrBellowsBox box = system->box;
  box.area.left += left;
  box.area.top = top + system->over;
  draw_box(pen, &box.area);
  if (first && system->shade_words.width > 0.0) {
    const SrFont font = shade_font();
    sr_pen_say(pen, &font, SHADE_WORDS, left + system->shade_words.left,
               box.area.top + system->shade_words.top);
  }
  draw_axis_words(pen, &box.area);
  draw_bars(picture, pen, system, &box.area, top);
  draw_rests(picture, pen, system, &box);
  const SrDrawnStroke* const strokes = picture->phrase->strokes;
  for (size_t i = 0; i < system->label_count; ++i) {
    const Label* const label = &system->labels[i];
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
        sr_draw_stroke(pen, &strokes[i], &piece);
      } else if (strokes[i].turns && piece.begins) {
        sr_draw_turn(pen, piece.x0, piece.y0);
      }
    }
  }
  for (size_t i = 0; i < system->label_count; ++i) {
    SrArea area = system->labels[i].area;
    area.left += left;
    area.top += box.area.top;
    draw_label(picture, pen, &system->labels[i], &area);
  }
}
