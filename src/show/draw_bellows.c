// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_picture.h"

#include "draw_stroke.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define AXIS_SIZE 8.5 ///< Of the words at the left
#define TICK 4.5      ///< Length of a beat's tick

/// A line of the page where it is drawn.
typedef struct {
  const SrBellowsPicture* picture;
  const SrPen* pen;
  const SrBellowsLine* line;
  SrBellowsBox box;
  double top;   ///< Of the row of bar numbers
  double upper; ///< Height of the lane of drawn notes
  double lower; ///< Height of the lane of pressed notes
} Place;

/// Draw the two lanes of words, the low room, and the ends of the bellows where they are near.
static void
draw_ground(const Place* const place)
{
  const SrPen* const pen = place->pen;
  const SrArea* const area = &place->box.area;
  const double bottom = area->top + area->height;
  const double right = area->left + area->width;
  sr_pen_fill(pen, SR_COLOUR_DRAW_LANE, area->left, area->top - place->upper, area->width,
              place->upper);
  sr_pen_fill(pen, SR_COLOUR_PRESS_LANE, area->left, bottom, area->width, place->lower);
  if (place->box.low < SR_LOW_ROOM) {
    const double y = sr_bellows_y(&place->box, SR_LOW_ROOM);
    sr_pen_fill(pen, SR_COLOUR_SHADE, area->left, y, area->width, bottom - y);
  }
  if (place->box.high > 1.0 - SR_LOW_ROOM) {
    const double y = sr_bellows_y(&place->box, 1.0 - SR_LOW_ROOM);
    sr_pen_fill(pen, SR_COLOUR_SHADE, area->left, area->top, area->width, y - area->top);
  }
  const bool full = place->box.high >= 1.0 - 1e-9;
  const bool shut = place->box.low <= 1e-9;
  sr_pen_rule(pen, full ? SR_COLOUR_INK : SR_COLOUR_LINE, full ? 1.8 : 0.5, area->left, area->top,
              right, area->top);
  sr_pen_rule(pen, shut ? SR_COLOUR_INK : SR_COLOUR_LINE, shut ? 1.8 : 0.5, area->left, bottom,
              right, bottom);
}

/// A word at the left of the line, its middle at a height.
static void
say_axis(const Place* const place, const char* const words, const double middle, const bool bold)
{
  const SrFont font = {.size = AXIS_SIZE,
                       .bold = bold,
                       .colour = SR_COLOUR_SOFT_INK,
                       .most_width = SR_BELLOWS_LEFT - 3.0};
  const double width = sr_pen_width(place->pen, &font, words);
  const double capital = sr_pen_capital(place->pen, bold) * AXIS_SIZE;
  (void)sr_pen_say_on(place->pen, &font, words, place->box.area.left - 3.0 - width,
                      middle + capital / 2.0);
}

/// What the ends of the box are.
static void
say_end(const Place* const place, const double opening, const double middle)
{
  char words[16];
  if (opening <= 1e-9 || opening >= 1.0 - 1e-9) {
    snprintf(words, sizeof(words), "%s", opening > 0.5 ? "full" : "shut");
  } else {
    snprintf(words, sizeof(words), "%.0f %%", 100.0 * opening);
  }
  say_axis(place, words, middle, false);
}

/// Mark the lane of a direction with its triangle, and with its name if there is room.
static void
mark_lane(const Place* const place, const bool draw)
{
  const SrArea* const area = &place->box.area;
  const double height = draw ? place->upper : place->lower;
  const double middle = draw ? area->top - height / 2.0 : area->top + area->height + height / 2.0;
  const bool named = height > 30.0;
  const double out = named ? 8.0 : 0.0;
  sr_pen_colour(place->pen, draw ? SR_COLOUR_DRAW : SR_COLOUR_PRESS);
  sr_pen_direction(place->pen, draw, area->left - 12.0, draw ? middle - out : middle + out,
                   named ? 14.0 : 9.0);
  if (named) {
    say_axis(place, draw ? "draw" : "press", draw ? middle + out : middle - out, true);
  }
}

static void
draw_axis(const Place* const place)
{
  const SrArea* const area = &place->box.area;
  mark_lane(place, true);
  mark_lane(place, false);
  say_end(place, place->box.high, area->top + 5.0);
  say_end(place, place->box.low, area->top + area->height - 5.0);
}

/// Draw the ticks of the beats at both edges of the box. Those of a pickup are counted from its
/// end.
static void
draw_beats(const Place* const place, const SrDrawnBar* const bar)
{
  const SrBellowsSystem* const bars = &place->line->bars;
  const SrArea* const area = &place->box.area;
  double time = 0.0;
  for (size_t i = 0; sr_bellows_beat(bar, i, &time); ++i) {
    if (time < bars->from - 1e-9 || time > bars->to - 1e-9) {
      continue;
    }
    const double x = sr_bellows_x(&place->box, time);
    const double bottom = area->top + area->height;
    sr_pen_rule(place->pen, SR_COLOUR_LINE, 0.5, x, area->top, x, bottom);
    sr_pen_rule(place->pen, SR_COLOUR_INK, 1.6, x, area->top, x, area->top + TICK);
    sr_pen_rule(place->pen, SR_COLOUR_INK, 1.6, x, bottom - TICK, x, bottom);
  }
}

/// Say a bar's number and what stands beside it.
static void
say_number(const Place* const place, const SrDrawnBar* const bar, const double x)
{
  const SrBellowsRows* const rows = &place->picture->rows;
  char words[64];
  if (bar->number < 1) {
    return;
  }
  snprintf(words, sizeof(words), "%d", bar->number);
  const double capital = 0.72 * rows->number;
  const SrFont font = {.size = capital / sr_pen_capital(place->pen, true),
                       .bold = true,
                       .colour = SR_COLOUR_SOFT_INK};
  const double baseline = place->top + 0.84 * rows->number;
  const double width = sr_pen_say_on(place->pen, &font, words, x + 3.0, baseline);
  if (bar->words && *bar->words) {
    SrFont beside = font;
    beside.bold = false;
    beside.most_width = fmax(8.0, bar->length * place->box.per_time - width - 12.0);
    (void)sr_pen_say_on(place->pen, &beside, bar->words, x + width + 8.0, baseline);
  }
}

/// Draw bar lines and beats, with a thick line at the end of the phrase.
static void
draw_bars(const Place* const place)
{
  const SrBellowsSystem* const bars = &place->line->bars;
  const SrDrawnPhrase* const phrase = place->picture->phrase;
  const SrArea* const area = &place->box.area;
  const double bottom = area->top + area->height + place->lower;
  for (size_t i = 0; i < bars->bar_count; ++i) {
    const SrDrawnBar* const bar = &phrase->bars[bars->first_bar + i];
    draw_beats(place, bar);
    if (bar->start >= bars->from - 1e-9) {
      const double x = sr_bellows_x(&place->box, bar->start);
      sr_pen_rule(place->pen, SR_COLOUR_SOFT_INK, 1.1, x, place->top, x, bottom);
      say_number(place, bar, x);
    }
  }
  const double right = area->left + area->width;
  const bool last = bars->first_bar + bars->bar_count == phrase->bar_count &&
                    bars->to >= phrase->bars[phrase->bar_count - 1].start - 1e-9;
  sr_pen_rule(place->pen, SR_COLOUR_INK, last ? 2.4 : 0.9, right, area->top - place->upper, right,
              bottom);
}

/// Draw a thin line where the bellows rest.
static void
draw_rests(const Place* const place)
{
  const SrDrawnPhrase* const phrase = place->picture->phrase;
  const SrBellowsSystem* const bars = &place->line->bars;
  double time = bars->from;
  double opening = bars->stroke_count ? phrase->strokes[bars->first_stroke].before : 0.0;
  for (size_t i = 0; bars->stroke_count && i <= bars->stroke_count; ++i) {
    const SrDrawnStroke* const stroke =
        i < bars->stroke_count ? &phrase->strokes[bars->first_stroke + i] : NULL;
    const double until = stroke ? fmin(stroke->start, bars->to) : bars->to;
    if (until > time + 1e-9) {
      sr_pen_rule(place->pen, SR_COLOUR_SOFT_INK, 0.9, sr_bellows_x(&place->box, time),
                  sr_bellows_y(&place->box, opening), sr_bellows_x(&place->box, until),
                  sr_bellows_y(&place->box, opening));
    }
    if (stroke) {
      time = fmax(time, stroke->start + stroke->length);
      opening = stroke->after;
    }
  }
}

static void
draw_strokes(const Place* const place)
{
  const SrBellowsSystem* const bars = &place->line->bars;
  const SrDrawnStroke* const strokes = place->picture->phrase->strokes;
  const size_t end = bars->first_stroke + bars->stroke_count;
  const double size = place->picture->sign_size;
  for (int pass = 0; pass < 2; ++pass) {
    for (size_t i = bars->first_stroke; i < end; ++i) {
      SrBellowsPiece piece;
      if (!sr_bellows_piece(&place->box, &strokes[i], bars->from, bars->to, &piece)) {
        continue;
      }
      if (!pass) {
        sr_draw_stroke(place->pen, &strokes[i], &piece, size);
      } else if (strokes[i].turns && piece.begins) {
        sr_draw_turn(place->pen, piece.x0, piece.y0, size);
      }
    }
  }
}

/// Say the words of all notes, each in the lane of its direction.
static void
say_notes(const Place* const place)
{
  const SrBellowsSystem* const bars = &place->line->bars;
  const SrDrawnPhrase* const phrase = place->picture->phrase;
  const SrBellowsRows* const rows = &place->picture->rows;
  const SrArea* const area = &place->box.area;
  for (size_t i = 0; i < bars->stroke_count; ++i) {
    const size_t index = bars->first_stroke + i;
    const SrDrawnStroke* const stroke = &phrase->strokes[index];
    const double from = fmax(stroke->start, bars->from);
    const double until = fmin(bars->to, stroke->start + sr_bellows_words_time(phrase, index));
    const double x = sr_bellows_x(&place->box, from);
    const SrWordsPlace words = {
        .left = x + SR_WORDS_LEFT,
        .top = stroke->draw ? area->top - rows->lane : area->top + area->height,
        .width = fmax(2.0, (until - from) * place->box.per_time - sr_bellows_words_apart(rows)),
        .narrow = place->picture->narrow};
    if (stroke->start >= bars->from - 1e-9) {
      sr_bellows_words_say(place->pen, rows, stroke, &words);
    } else {
      sr_bellows_words_go_on(place->pen, rows, stroke, &words);
    }
  }
}

/// "3", "3 and 4" or "3 to 6".
static void
name_bars(const SrDrawnPhrase* const phrase, const size_t first, const size_t count, char words[48])
{
  const int low = phrase->bars[first].number;
  const int high = phrase->bars[first + count - 1].number;
  if (count == 1) {
    snprintf(words, 48, "%d", low);
  } else {
    snprintf(words, 48, "%d %s %d", low, count == 2 ? "and" : "to", high);
  }
}

/// Say which earlier bars are played again.
static void
say_like(const Place* const place, const double left, const double top)
{
  const SrBellowsSystem* const bars = &place->line->bars;
  const SrBellowsRows* const rows = &place->picture->rows;
  const SrDrawnPhrase* const phrase = place->picture->phrase;
  char these[48];
  char those[48];
  char words[160];
  name_bars(phrase, bars->first_bar, bars->bar_count, these);
  name_bars(phrase, bars->like, bars->bar_count, those);
  const char* const plural = bars->bar_count > 1 ? "s" : "";
  if (!strcmp(these, those)) {
    snprintf(words, sizeof(words), "Bar%s %s as before", plural, these);
  } else {
    snprintf(words, sizeof(words), "Bar%s %s as bar%s %s", plural, these, plural, those);
  }
  const SrFont font = {.size = rows->heading_size,
                       .bold = true,
                       .colour = SR_COLOUR_INK,
                       .most_width = place->picture->width - SR_BELLOWS_LEFT};
  sr_pen_fill(place->pen, SR_COLOUR_SHADE, left + SR_BELLOWS_LEFT, top,
              place->picture->width - SR_BELLOWS_LEFT, rows->strip);
  (void)sr_pen_say_on(place->pen, &font, words, left + SR_BELLOWS_LEFT + 4.0,
                      top + (rows->strip + rows->heading) / 2.0);
}

/// Say what is above a part; returns the height used.
static double
say_heading(const SrBellowsPicture* const picture, const SrPen* const pen,
            const SrBellowsLine* const line, const double left, const double top)
{
  const SrBellowsRows* const rows = &picture->rows;
  if (line->bars.part == SR_BELLOWS_NONE || !*picture->phrase->parts[line->bars.part].words) {
    return 0.0;
  }
  const SrFont font = {.size = rows->heading_size,
                       .bold = true,
                       .colour = SR_COLOUR_INK,
                       .most_width = picture->width - SR_BELLOWS_LEFT};
  (void)sr_pen_say_on(pen, &font, picture->phrase->parts[line->bars.part].words,
                      left + SR_BELLOWS_LEFT, top + 1.15 * rows->heading);
  return rows->strip;
}

void
sr_bellows_picture_draw(const SrBellowsPicture* const picture, const SrPen* const pen,
                        const size_t index, const double left, const double top)
{
  const SrBellowsLine* const line = &picture->systems[index];
  Place place = {.picture = picture, .pen = pen, .line = line, .box = line->box};
  place.top = top + say_heading(picture, pen, line, left, top);
  if (line->bars.like != SR_BELLOWS_NONE) {
    say_like(&place, left, place.top);
    return;
  }
  place.box.area.left += left;
  place.box.area.top += top;
  place.upper = sr_bellows_lane(&line->bars, &picture->rows, true);
  place.lower = sr_bellows_lane(&line->bars, &picture->rows, false);
  draw_ground(&place);
  draw_axis(&place);
  draw_bars(&place);
  draw_rests(&place);
  draw_strokes(&place);
  say_notes(&place);
}
