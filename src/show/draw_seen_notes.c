// SPDX-License-Identifier: GPL-3.0-or-later

// The notes of a round and their signs: what was written, and over it what was heard.

#include "ribbon.h"
#include "round_layout.h"
#include "round_signs.h"

#include <math.h>

/// Gap at each end of a note.
#define PARTED 0.05
/// Width of the edge of pressed notes.
#define EDGE 0.035
#define DIRECTION 0.5
/// Where the gap for air begins, share of the note.
#define AIR_FROM 0.4

/// A note on a line.
typedef struct {
  const SrRoundLine* line;
  const SrDrawnStroke* stroke;
  const SrSeenNote* note;
  SrBellowsPiece piece;
  double half; ///< Of its thickness
  double size;
} Seen;

static SrColour
colour_of(const Seen* const seen)
{
  const SrTheme* const theme = &seen->line->picture->theme;
  return !seen->line->picture->content.planned ? theme->plain
         : seen->stroke->draw                  ? theme->draw
                                               : theme->press;
}

/// Whether the note at an index has a part on this line; `seen` receives it.
static bool
find_note(const SrRoundLine* const line, const size_t index, Seen* const seen)
{
  const SrRoundContent* const content = &line->picture->content;
  const SrDrawnStroke* const stroke = &content->strokes[index];
  seen->line = line;
  seen->stroke = stroke;
  seen->note = &content->notes[index];
  seen->size = line->picture->rows.size;
  if (!sr_bellows_piece(&line->box, stroke, line->system->from, line->system->to, &seen->piece)) {
    return false;
  }
  const double parted = fmin(PARTED * seen->size, 0.1 * (seen->piece.x1 - seen->piece.x0));
  const SrBellowsPiece whole = seen->piece;
  seen->piece.x0 += seen->piece.begins ? parted : 0.0;
  seen->piece.x1 -= seen->piece.ends ? parted : 0.0;
  seen->piece.y0 = sr_ribbon_y(&whole, seen->piece.x0);
  seen->piece.y1 = sr_ribbon_y(&whole, seen->piece.x1);
  seen->half = sr_ribbon_half(&seen->piece, SR_ROUND_HALF * seen->size);
  return true;
}

/// Give a pressed note its edge, along the path; the path is gone afterwards.
static void
draw_edge(const Seen* const seen)
{
  cairo_t* const cairo = seen->line->pen->cairo;
  if (seen->line->picture->content.planned && !seen->stroke->draw) {
    sr_pen_colour(seen->line->pen, seen->line->picture->theme.press_edge);
    cairo_set_line_width(cairo, EDGE * seen->size);
    cairo_stroke(cairo);
  }
  cairo_new_path(cairo);
}

/// Draw what was written.
static void
draw_outline(const Seen* const seen)
{
  const SrPen* const pen = seen->line->pen;
  const SrTheme* const theme = &seen->line->picture->theme;
  cairo_t* const cairo = pen->cairo;
  const double size = seen->size;
  sr_ribbon_path(pen, &seen->piece, seen->piece.x0, seen->piece.x1, seen->half);
  switch (seen->note->seen) {
  case SR_SEEN_MISSED:
    sr_sign_dashes(pen, theme->fault, size);
    return;
  case SR_SEEN_UNHEARD: {
    const double dots[] = {0.08 * size, 0.16 * size};
    sr_pen_colour(pen, theme->soft);
    cairo_set_dash(cairo, dots, 2, 0.0);
    cairo_set_line_width(cairo, 0.08 * size);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0.0);
    return;
  }
  case SR_SEEN_WRONG:
    sr_pen_colour(pen, theme->shade);
    cairo_fill_preserve(cairo);
    break;
  case SR_SEEN_TODO:
  case SR_SEEN_HEARD:
    break;
  }
  sr_pen_colour(pen, colour_of(seen));
  cairo_set_line_width(cairo, 0.08 * size);
  cairo_stroke_preserve(cairo);
  draw_edge(seen);
}

/// Draw what was heard.
static void
draw_filled(const Seen* const seen)
{
  const SrPen* const pen = seen->line->pen;
  const double begin = sr_bellows_x(&seen->line->box, seen->note->from);
  const double end = sr_bellows_x(&seen->line->box, seen->note->to);
  const double from = fmax(seen->piece.begins ? begin : seen->piece.x0, seen->line->box.area.left);
  const double to = fmin(end, seen->piece.x1);
  if (seen->note->seen != SR_SEEN_HEARD || to <= from) {
    return;
  }
  sr_ribbon_path(pen, &seen->piece, from, to, seen->half);
  sr_pen_colour(pen, colour_of(seen));
  cairo_fill_preserve(pen->cairo);
  draw_edge(seen);
}

static void
draw_air(const Seen* const seen)
{
  const SrPen* const pen = seen->line->pen;
  const SrTheme* const theme = &seen->line->picture->theme;
  const SrBellowsPiece* const piece = &seen->piece;
  const double from = piece->x0 + AIR_FROM * (piece->x1 - piece->x0);
  if (!seen->stroke->air && !seen->note->air_heard) {
    return;
  }
  sr_ribbon_gap_path(pen, piece, from, piece->x1 - 0.1 * seen->size, seen->half);
  sr_pen_colour(pen, theme->paper);
  cairo_fill_preserve(pen->cairo);
  sr_pen_colour(pen, theme->ink);
  cairo_set_line_width(pen->cairo, 0.06 * seen->size);
  cairo_stroke(pen->cairo);
  if (seen->note->air_heard) {
    const double over = seen->half + 0.42 * seen->size;
    const SrBellowsPiece wave = {
        from, sr_ribbon_y(piece, from) - over, piece->x1, piece->y1 - over, true, true};
    sr_sign_wave(pen, theme->fault, &wave, seen->size);
  }
}

/// Draw the triangle of its direction if there is room.
static void
draw_direction(const Seen* const seen, const double after)
{
  const SrPen* const pen = seen->line->pen;
  const SrTheme* const theme = &seen->line->picture->theme;
  const double triangle = DIRECTION * seen->size;
  const bool air = seen->stroke->air || seen->note->air_heard;
  const double width = seen->piece.x1 - seen->piece.x0;
  const double end = seen->piece.x0 + (air ? AIR_FROM * width : width);
  const bool empty = seen->note->seen != SR_SEEN_HEARD;
  const double x = after + 0.12 * seen->size + triangle / 2.0;
  if (!seen->line->picture->content.planned || seen->note->seen == SR_SEEN_WRONG ||
      x + triangle / 2.0 > end) {
    return;
  }
  sr_pen_colour(pen, empty ? theme->soft : seen->stroke->draw ? theme->on_draw : SR_COLOUR_INK);
  sr_pen_direction(pen, seen->stroke->draw, x, sr_ribbon_y(&seen->piece, x), triangle);
}

/// Draw its cut; returns where it ends.
static double
draw_cut(const Seen* const seen)
{
  const SrPen* const pen = seen->line->pen;
  const SrTheme* const theme = &seen->line->picture->theme;
  const bool sounds = seen->note->seen == SR_SEEN_HEARD || seen->note->seen == SR_SEEN_WRONG;
  const double heard = sounds ? sr_bellows_x(&seen->line->box, seen->note->from) : seen->piece.x0;
  const double latest = seen->piece.x0 + 0.4 * (seen->piece.x1 - seen->piece.x0);
  const double x = fmin(fmax(heard, seen->piece.x0), latest) + 0.06 * seen->size;
  const double y = sr_ribbon_y(&seen->piece, x);
  if (!seen->piece.begins) {
    return seen->piece.x0;
  }
  const SrSignPlace place = {pen, theme, x, y, seen->half, seen->size};
  switch (seen->note->cut) {
  case SR_SEEN_NO_CUT:
    return seen->piece.x0;
  case SR_SEEN_CUT_TODO:
    sr_sign_tick(&place, SR_TICK_HOLLOW);
    break;
  case SR_SEEN_CUT_CLEAN:
    sr_sign_tick(&place, SR_TICK_CLEAN);
    break;
  case SR_SEEN_CUT_ABSENT:
    sr_sign_tick(&place, SR_TICK_ABSENT);
    break;
  case SR_SEEN_CUT_STRAY:
    sr_sign_tick(&place, SR_TICK_STRAY);
    break;
  case SR_SEEN_CUT_LONG: {
    const double width = seen->note->cut_length * seen->line->box.per_time;
    const double room = 0.6 * (seen->piece.x1 - seen->piece.x0);
    return sr_sign_block(&place, fmin(width, room));
  }
  }
  return x + SR_TICK_WIDTH * seen->size;
}

/// Draw the bar over a note and the one before it.
static void
draw_joined(const SrRoundLine* const line, const size_t index, const Seen* const seen)
{
  Seen before;
  double from = seen->piece.x0;
  double top = fmin(seen->piece.y0, seen->piece.y1) - seen->half;
  if (index > 0 && find_note(line, index - 1, &before)) {
    from = (before.piece.x0 + before.piece.x1) / 2.0;
    top = fmin(top, fmin(before.piece.y0, before.piece.y1) - before.half);
  }
  const double to = (seen->piece.x0 + seen->piece.x1) / 2.0;
  sr_sign_bar(line->pen, line->picture->theme.fault, from, to, top - 0.42 * seen->size, seen->size);
}

/// Draw the arrowhead of an extra note, under the notes that meet there.
static void
draw_extra(const SrRoundLine* const line, const double at)
{
  const SrBellowsSystem* const system = line->system;
  const double right = line->box.area.left + line->box.area.width;
  SrSignPlace place = {.pen = line->pen, .theme = &line->picture->theme, .y = -(double)INFINITY};
  for (size_t n = system->first_stroke; n < system->first_stroke + system->stroke_count; ++n) {
    const SrDrawnStroke* const stroke = &line->picture->content.strokes[n];
    const bool begins = fabs(stroke->start - at) < 1e-9;
    const bool ends = fabs(stroke->start + stroke->length - at) < 1e-9;
    Seen seen;
    if ((!begins && !ends) || !find_note(line, n, &seen) || !(begins || seen.piece.ends)) {
      continue;
    }
    place.size = seen.size;
    place.x = fmin(begins ? seen.piece.x0 : seen.piece.x1, right - SR_ARROWHEAD * seen.size);
    place.y = fmax(place.y, begins ? seen.piece.y0 : seen.piece.y1);
    place.half = fmax(place.half, seen.half);
  }
  if (place.size > 0.0) {
    sr_sign_arrowhead(&place);
  }
}

void
sr_draw_seen_notes(const SrRoundLine* const line)
{
  const SrBellowsSystem* const system = line->system;
  const SrRoundContent* const content = &line->picture->content;
  const SrTheme* const theme = &line->picture->theme;
  Seen seen;
  for (int pass = 0; pass < 3; ++pass) {
    for (size_t i = system->first_stroke; i < system->first_stroke + system->stroke_count; ++i) {
      if (!find_note(line, i, &seen)) {
        continue;
      }
      if (pass == 0) {
        draw_outline(&seen);
        continue;
      }
      if (pass == 1) {
        draw_filled(&seen);
        continue;
      }
      draw_air(&seen);
      draw_direction(&seen, draw_cut(&seen));
      if (seen.note->seen == SR_SEEN_WRONG) {
        const double x = (seen.piece.x0 + seen.piece.x1) / 2.0;
        const SrSignPlace place = {line->pen, theme,    x, sr_ribbon_y(&seen.piece, x),
                                   seen.half, seen.size};
        sr_sign_cross(&place);
      }
      if (seen.note->joined && seen.piece.begins) {
        draw_joined(line, i, &seen);
      }
    }
  }
  for (size_t i = 0; i < content->extra_count; ++i) {
    draw_extra(line, content->extras[i]);
  }
}
