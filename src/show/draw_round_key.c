// SPDX-License-Identifier: GPL-3.0-or-later

// The key of the signs that a picture of a round uses.

#include "ribbon.h"
#include "round_layout.h"
#include "round_signs.h"

#include <math.h>
#include <string.h>

/// Sizes against that of the words.
#define SIGN_WIDTH 2.3
#define SIGN_SIZE 0.95
#define APART 1.2
#define ROW 1.75

/// The signs.
typedef enum {
  KEY_DRAW,
  KEY_PRESS,
  KEY_WRITTEN,
  KEY_HEARD,
  KEY_CUT,
  KEY_ABSENT,
  KEY_LONG,
  KEY_JOINED,
  KEY_STRAY,
  KEY_MISSED,
  KEY_WRONG,
  KEY_EXTRA,
  KEY_AIR,
  KEY_AIR_HEARD,
  KEY_UNHEARD,
  KEY_BAND,
  KEY_COUNT,
} Key;

static const char* const KEY_WORDS[KEY_COUNT] = {"draw",
                                                 "press",
                                                 "written",
                                                 "heard",
                                                 "cut",
                                                 "cut not heard",
                                                 "cut as long as a note",
                                                 "two notes ran together",
                                                 "cut not written",
                                                 "missed",
                                                 "wrong note",
                                                 "extra note",
                                                 "place for air",
                                                 "air heard",
                                                 "gap in the recording",
                                                 "hardly noticeable"};

static void
find_used(const SrRoundPicture* const picture, bool used[KEY_COUNT])
{
  const SrRoundContent* const content = &picture->content;
  memset(used, 0, KEY_COUNT * sizeof(bool));
  used[KEY_WRITTEN] = used[KEY_HEARD] = true;
  used[KEY_DRAW] = used[KEY_PRESS] = content->planned;
  used[KEY_BAND] = picture->rows.strip > 0.0;
  used[KEY_EXTRA] = content->extra_count > 0;
  for (size_t i = 0; i < content->phrase.stroke_count; ++i) {
    const SrSeenNote* const note = &content->notes[i];
    used[KEY_CUT] = used[KEY_CUT] || note->cut == SR_SEEN_CUT_CLEAN;
    used[KEY_ABSENT] = used[KEY_ABSENT] || note->cut == SR_SEEN_CUT_ABSENT;
    used[KEY_LONG] = used[KEY_LONG] || note->cut == SR_SEEN_CUT_LONG;
    used[KEY_STRAY] = used[KEY_STRAY] || note->cut == SR_SEEN_CUT_STRAY;
    used[KEY_JOINED] = used[KEY_JOINED] || note->joined;
    used[KEY_MISSED] = used[KEY_MISSED] || note->seen == SR_SEEN_MISSED;
    used[KEY_WRONG] = used[KEY_WRONG] || note->seen == SR_SEEN_WRONG;
    used[KEY_UNHEARD] = used[KEY_UNHEARD] || note->seen == SR_SEEN_UNHEARD;
    used[KEY_AIR] = used[KEY_AIR] || content->strokes[i].air;
    used[KEY_AIR_HEARD] = used[KEY_AIR_HEARD] || note->air_heard;
  }
}

static void
draw_ribbon(const SrRoundPicture* const picture, const SrPen* const pen, const Key key,
            const SrBellowsPiece* const piece, const double size)
{
  const SrTheme* const theme = &picture->theme;
  const double half = SR_ROUND_HALF * size;
  const SrColour colour = picture->content.planned ? theme->draw : theme->plain;
  sr_ribbon_path(pen, piece, piece->x0, piece->x1, half);
  if (key == KEY_MISSED) {
    sr_sign_dashes(pen, theme->fault, size);
    return;
  }
  if (key == KEY_UNHEARD) {
    const double dots[] = {0.08 * size, 0.16 * size};
    cairo_set_dash(pen->cairo, dots, 2, 0.0);
  }
  const bool empty = key == KEY_WRITTEN || key == KEY_UNHEARD || key == KEY_WRONG;
  sr_pen_colour(pen, key == KEY_UNHEARD ? theme->soft : colour);
  if (empty) {
    cairo_set_line_width(pen->cairo, 0.08 * size);
    cairo_stroke(pen->cairo);
  } else {
    cairo_fill(pen->cairo);
  }
  cairo_set_dash(pen->cairo, NULL, 0, 0.0);
}

static void
draw_air_gap(const SrRoundPicture* const picture, const SrPen* const pen,
             const SrBellowsPiece* const piece, const double size)
{
  const double from = piece->x0 + 0.35 * (piece->x1 - piece->x0);
  sr_ribbon_gap_path(pen, piece, from, piece->x1 - 0.1 * size, SR_ROUND_HALF * size);
  sr_pen_colour(pen, picture->theme.paper);
  cairo_fill_preserve(pen->cairo);
  sr_pen_colour(pen, picture->theme.ink);
  cairo_set_line_width(pen->cairo, 0.06 * size);
  cairo_stroke(pen->cairo);
}

/// Draw a sign about a height.
static void
draw_sign(const SrRoundPicture* const picture, const SrPen* const pen, const Key key,
          const double left, const double middle_y, const double size)
{
  const SrTheme* const theme = &picture->theme;
  // What reaches far above or below its note is kept inside the row
  const double y = middle_y + (key == KEY_EXTRA                            ? -0.25
                               : key == KEY_JOINED || key == KEY_AIR_HEARD ? 0.2
                                                                           : 0.0) *
                                  size;
  const double right = left + (SIGN_WIDTH - 0.3) * size;
  const double middle = (left + right) / 2.0;
  const SrBellowsPiece piece = {left, y, right, y, true, true};
  const SrSignPlace at = {pen, theme, middle, y, SR_ROUND_HALF * size, size};
  if (key == KEY_DRAW || key == KEY_PRESS) {
    sr_pen_colour(pen, key == KEY_DRAW ? theme->draw : theme->press);
    sr_pen_direction(pen, key == KEY_DRAW, right - 0.5 * size, y, 0.8 * size);
    return;
  }
  if (key == KEY_BAND) {
    sr_pen_colour(pen, theme->band);
    cairo_rectangle(pen->cairo, left, y - 0.3 * size, right - left, 0.6 * size);
    cairo_fill(pen->cairo);
    return;
  }
  draw_ribbon(picture, pen, key, &piece, size);
  switch (key) {
  case KEY_CUT:
    sr_sign_tick(&at, SR_TICK_CLEAN);
    break;
  case KEY_ABSENT:
    sr_sign_tick(&at, SR_TICK_ABSENT);
    break;
  case KEY_STRAY:
    sr_sign_tick(&at, SR_TICK_STRAY);
    break;
  case KEY_LONG:
    (void)sr_sign_block(&at, 0.6 * size);
    break;
  case KEY_JOINED:
    sr_sign_bar(pen, theme->fault, left + 0.3 * size, right - 0.3 * size, y - 0.72 * size, size);
    break;
  case KEY_WRONG:
    sr_sign_cross(&at);
    break;
  case KEY_EXTRA:
    sr_sign_arrowhead(&at);
    break;
  case KEY_AIR:
    draw_air_gap(picture, pen, &piece, size);
    break;
  case KEY_AIR_HEARD:
    draw_air_gap(picture, pen, &piece, size);
    sr_sign_wave(
        pen, theme->fault,
        &(SrBellowsPiece){middle - 0.3 * size, y - 0.75 * size, right, y - 0.75 * size, true, true},
        size);
    break;
  case KEY_DRAW:
  case KEY_PRESS:
  case KEY_WRITTEN:
  case KEY_HEARD:
  case KEY_MISSED:
  case KEY_UNHEARD:
  case KEY_BAND:
  case KEY_COUNT:
    break;
  }
}

double
sr_draw_round_key(const SrRoundPicture* const picture, const SrRoundPicture* const other,
                  const SrPen* const pen, const SrArea* const area, const double size,
                  const bool draw)
{
  bool used[KEY_COUNT];
  bool used_there[KEY_COUNT] = {false};
  const SrFont font = {.size = size, .colour = picture->theme.soft};
  const double sign = SIGN_SIZE * size;
  double x = area->left;
  double y = area->top;
  find_used(picture, used);
  if (other) {
    find_used(other, used_there);
  }
  for (int key = 0; key < KEY_COUNT; ++key) {
    if (!used[key] && !used_there[key]) {
      continue;
    }
    const double width = SIGN_WIDTH * sign + sr_pen_width(pen, &font, KEY_WORDS[key]);
    if (x > area->left && x + width > area->left + area->width) {
      x = area->left;
      y += ROW * size;
    }
    if (draw) {
      const double middle = y + ROW * size / 2.0;
      draw_sign(picture, pen, (Key)key, x, middle, sign);
      (void)sr_pen_say_on(pen, &font, KEY_WORDS[key], x + SIGN_WIDTH * sign, middle + 0.36 * size);
    }
    x += width + APART * size;
  }
  return y + ROW * size - area->top;
}
