// SPDX-License-Identifier: GPL-3.0-or-later

// The lines of a round: ground, bars and names. Notes, breaks and offsets have files of their own.

#include "round_layout.h"

#include <math.h>
#include <stdio.h>

/// Baseline of a row, share of its height.
#define BASELINE 0.78
/// Between a name and the next, against its size.
#define APART 0.15
/// Least width of letters against the usual one, before they are made smaller.
#define NARROWEST 0.75
/// Names of the directions, against the size of notes' names, and the smallest that are written.
#define LANE_NAME 0.6
#define LEAST_LANE_NAME 8.0
/// Buttons' names are not made smaller than this share for the sake of a few.
#define SMALLEST_BUTTON 0.6

/// Shade what is nearly shut or nearly full, and draw the ends of the bellows.
static void
draw_bellows_room(const SrRoundLine* const line)
{
  const SrTheme* const theme = &line->picture->theme;
  const SrArea* const area = &line->box.area;
  const double size = line->picture->rows.size;
  const double bottom = area->top + area->height;
  const double right = area->left + area->width;
  const bool full = line->box.high >= 1.0 - 1e-9;
  const bool shut = line->box.low <= 1e-9;
  if (full) {
    const double y = sr_bellows_y(&line->box, 1.0 - SR_LOW_ROOM);
    sr_pen_fill(line->pen, theme->shade, area->left, area->top, area->width, y - area->top);
    sr_pen_rule(line->pen, theme->ink, 0.14 * size, area->left, area->top, right, area->top);
  }
  if (shut) {
    const double y = sr_bellows_y(&line->box, SR_LOW_ROOM);
    sr_pen_fill(line->pen, theme->shade, area->left, y, area->width, bottom - y);
    sr_pen_rule(line->pen, theme->ink, 0.14 * size, area->left, bottom, right, bottom);
  }
}

/// Draw the triangle of a direction beside its lane, and its name if there is room.
static void
mark_lane(const SrRoundLine* const line, const bool draw, const double middle)
{
  const SrTheme* const theme = &line->picture->theme;
  const double size = line->picture->rows.size;
  const SrFont font = {
      .size = LANE_NAME * size, .colour = theme->soft, .most_width = 1.8 * size, .smallest = 0.7};
  const bool named = line->picture->rows.buttons && font.size >= LEAST_LANE_NAME;
  const double x = line->box.area.left - (named ? 1.1 : 0.7) * size;
  sr_pen_colour(line->pen, draw ? theme->draw : theme->press);
  sr_pen_direction(line->pen, draw, x, named ? middle - 0.4 * size : middle, 0.75 * size);
  if (named) {
    const char* const name = draw ? "draw" : "press";
    const double width = fmin(sr_pen_width(line->pen, &font, name), font.most_width);
    (void)sr_pen_say_on(line->pen, &font, name, x - width / 2.0, middle + 0.58 * size);
  }
}

static void
draw_ground(const SrRoundLine* const line)
{
  const SrTheme* const theme = &line->picture->theme;
  const SrRoundRows* const rows = &line->picture->rows;
  const SrArea* const area = &line->box.area;
  if (line->picture->content.planned) {
    const double bottom = area->top + area->height;
    sr_pen_fill(line->pen, theme->draw_lane, area->left, area->top - rows->upper, area->width,
                rows->upper);
    sr_pen_fill(line->pen, theme->press_lane, area->left, bottom, area->width, rows->lower);
    draw_bellows_room(line);
    mark_lane(line, true, area->top - rows->upper / 2.0);
    mark_lane(line, false, bottom + rows->lower / 2.0);
  }
}

/// Draw the beats of a bar.
static void
draw_beats(const SrRoundLine* const line, const SrDrawnBar* const bar)
{
  const SrTheme* const theme = &line->picture->theme;
  const SrArea* const area = &line->box.area;
  const double size = line->picture->rows.size;
  double time = 0.0;
  for (size_t i = 0; sr_bellows_beat(bar, i, &time); ++i) {
    if (time >= line->system->from - 1e-9 && time <= line->system->to + 1e-9) {
      const double x = sr_bellows_x(&line->box, time);
      sr_pen_rule(line->pen, theme->line, 0.04 * size, x, area->top, x, area->top + area->height);
    }
  }
}

static void
draw_bars(const SrRoundLine* const line)
{
  const SrTheme* const theme = &line->picture->theme;
  const SrRoundRows* const rows = &line->picture->rows;
  const SrBellowsSystem* const system = line->system;
  const SrDrawnPhrase* const phrase = &line->picture->content.phrase;
  const SrArea* const area = &line->box.area;
  const double size = rows->size;
  const double numbers = line->top + rows->slip;
  const double bottom = area->top + area->height + rows->lower;
  for (size_t i = 0; i < system->bar_count; ++i) {
    const SrDrawnBar* const bar = &phrase->bars[system->first_bar + i];
    draw_beats(line, bar);
    if (bar->start < system->from - 1e-9) {
      continue;
    }
    const double x = sr_bellows_x(&line->box, bar->start);
    sr_pen_rule(line->pen, theme->soft, 0.09 * size, x, numbers, x, bottom);
    if (bar->number > 0) {
      char words[16];
      const SrFont font = {.size = 0.78 * size, .bold = true, .colour = theme->soft};
      snprintf(words, sizeof(words), "%d", bar->number);
      (void)sr_pen_say_on(line->pen, &font, words, x + 0.25 * size,
                          numbers + BASELINE * rows->number);
    }
  }
  const double right = area->left + area->width;
  const bool last = system->first_bar + system->bar_count == phrase->bar_count;
  const double width = (last ? 0.2 : 0.09) * size;
  sr_pen_rule(line->pen, last ? theme->ink : theme->soft, width, right - width / 2.0,
              area->top - rows->upper, right - width / 2.0, bottom);
}

/// Where the bar of a time ends, or the line.
static double
bar_end(const SrRoundLine* const line, const double time)
{
  const SrDrawnPhrase* const phrase = &line->picture->content.phrase;
  const SrBellowsSystem* const system = line->system;
  for (size_t i = 0; i < system->bar_count; ++i) {
    const double start = phrase->bars[system->first_bar + i].start;
    if (start > time + 1e-9) {
      return sr_bellows_x(&line->box, start);
    }
  }
  return line->box.area.left + line->box.area.width;
}

/// Where the next name in the same lane begins, or the bar ends: no name lies over a bar line.
static double
name_end(const SrRoundLine* const line, const size_t index)
{
  const SrRoundContent* const content = &line->picture->content;
  const SrBellowsSystem* const system = line->system;
  const double end = bar_end(line, content->strokes[index].start);
  for (size_t i = index + 1; i < system->first_stroke + system->stroke_count; ++i) {
    if (content->strokes[i].draw == content->strokes[index].draw) {
      return fmin(end, sr_bellows_x(&line->box, content->strokes[i].start));
    }
  }
  return end;
}

/// Where a name begins.
static double
name_begin(const SrRoundLine* const line, const size_t index)
{
  const SrDrawnStroke* const stroke = &line->picture->content.strokes[index];
  return sr_bellows_x(&line->box, stroke->start) + 0.12 * line->picture->rows.size;
}

static double
name_room(const SrRoundLine* const line, const size_t index)
{
  return name_end(line, index) - name_begin(line, index) - APART * line->picture->rows.size;
}

/// Size of the buttons' names, the same for all of a line: what most of them have room for.
static double
button_size(const SrRoundLine* const line)
{
  const SrRoundRows* const rows = &line->picture->rows;
  const SrBellowsSystem* const system = line->system;
  const SrFont font = {.size = SR_ROUND_BUTTON * rows->size};
  double share = 1.0;
  for (size_t i = system->first_stroke; i < system->first_stroke + system->stroke_count; ++i) {
    const double width = sr_pen_width(line->pen, &font, line->picture->content.strokes[i].button);
    const double room = name_room(line, i);
    if (width > room && room >= SMALLEST_BUTTON * width) {
      share = fmin(share, room / width);
    }
  }
  return share * font.size;
}

static void
say_name(const SrRoundLine* const line, const size_t index, const double button_size)
{
  const SrTheme* const theme = &line->picture->theme;
  const SrRoundRows* const rows = &line->picture->rows;
  const SrDrawnStroke* const stroke = &line->picture->content.strokes[index];
  const SrArea* const area = &line->box.area;
  const bool fault = line->picture->content.notes[index].fault;
  const double x = name_begin(line, index);
  const double top = stroke->draw ? area->top - rows->upper : area->top + area->height;
  const double room = name_room(line, index);
  SrFont name = {.size = rows->size, .bold = true, .colour = theme->ink};
  if (room < 0.4 * rows->size) {
    return;
  }
  const double natural = sr_pen_width(line->pen, &name, stroke->name);
  name.narrow = fmin(1.0, fmax(NARROWEST, room / natural));
  name.most_width = room;
  const double baseline = top + 0.98 * rows->size;
  const double width = sr_pen_say_on(line->pen, &name, stroke->name, x, baseline);
  if (fault) {
    sr_pen_fill(line->pen, theme->fault, x, baseline + 0.1 * rows->size, width, 0.13 * rows->size);
  }
  if (rows->buttons) {
    const SrFont button = {.size = button_size, .colour = theme->soft, .most_width = room};
    (void)sr_pen_say_on(line->pen, &button, stroke->button, x, baseline + 0.86 * rows->size);
  }
}

static void
say_names(const SrRoundLine* const line)
{
  const SrBellowsSystem* const system = line->system;
  const SrDrawnStroke* const strokes = line->picture->content.strokes;
  const double buttons = line->picture->rows.buttons ? button_size(line) : 0.0;
  for (size_t i = system->first_stroke; i < system->first_stroke + system->stroke_count; ++i) {
    if (strokes[i].start >= system->from - 1e-9) {
      say_name(line, i, buttons);
    }
  }
}

void
sr_round_draw_line(const SrRoundLine* const line)
{
  draw_ground(line);
  draw_bars(line);
  sr_draw_seen_notes(line);
  if (line->picture->rows.names) {
    say_names(line);
  }
  sr_draw_slips(line);
  sr_draw_offsets(line);
}

void
sr_round_draw(const SrRoundPicture* const picture, const SrPen* const pen, const double left,
              const double top)
{
  for (size_t i = 0; i < picture->system_count; ++i) {
    const SrRoundLine line = sr_round_line(picture, pen, i, left, top);
    sr_round_draw_line(&line);
  }
}
