// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_words.h"

#include <math.h>
#include <stdio.h>

/// Smallest share of their size to which words shrink before they are cut off.
#define SMALLEST 0.25
/// Between words of a small row, against their capitals.
#define BETWEEN 0.4

static SrFont
name_font(const SrBellowsRows* const rows, const SrWordsPlace* const place)
{
  const SrFont font = {.size = rows->name_size,
                       .bold = true,
                       .colour = SR_COLOUR_INK,
                       .narrow = place->narrow,
                       .most_width = place->width};
  return font;
}

static SrFont
button_font(const SrBellowsRows* const rows, const SrWordsPlace* const place)
{
  const SrFont font = {.size = rows->button_size,
                       .colour = SR_COLOUR_INK,
                       .narrow = place->narrow,
                       .most_width = place->width,
                       .smallest = SMALLEST};
  return font;
}

double
sr_bellows_words_width(const SrPen* const pen, const SrBellowsRows* const rows,
                       const SrDrawnStroke* const stroke)
{
  const SrWordsPlace free_place = {.narrow = 1.0};
  const SrFont name = name_font(rows, &free_place);
  const SrFont button = button_font(rows, &free_place);
  return fmax(sr_pen_pitch_width(pen, &name, stroke->name, stroke->octave),
              sr_pen_width(pen, &button, stroke->button));
}

/// Room for the sign of a cut, against the capitals.
#define TICK 0.42

/// A row of small words while it is being written.
typedef struct {
  const SrPen* pen;
  const SrBellowsRows* rows;
  double x;
  double right;
  double baseline;
  double narrow;
} Row;

static SrFont
small_font(const Row* const row, const bool bold, const double most_width)
{
  const SrFont font = {.size = row->rows->small_size,
                       .bold = bold,
                       .colour = SR_COLOUR_INK,
                       .narrow = row->narrow,
                       .most_width = most_width,
                       .smallest = SMALLEST};
  return font;
}

static double
ring_height(const Row* const row)
{
  return SR_RING * row->rows->small;
}

static void
say_finger(Row* const row, const SrFinger finger, const SrColour colour)
{
  const double height = fmin(ring_height(row), fmax(row->right - row->x, 1.0));
  const double middle = row->baseline - row->rows->small / 2.0;
  sr_pen_finger(row->pen, finger, colour, row->x, middle - height / 2.0, height);
  row->x += height + row->narrow * BETWEEN * row->rows->small;
}

static void
say_small(Row* const row, const char* const words, const bool bold)
{
  if (*words && row->right - row->x > 1.0) {
    const SrFont font = small_font(row, bold, row->right - row->x);
    row->x +=
        sr_pen_say_on(row->pen, &font, words, row->x, row->baseline) + BETWEEN * row->rows->small;
  }
}

/// The sign of a cut, as on the line.
static void
draw_tick(Row* const row, const bool left_out)
{
  const double height = 1.25 * row->rows->small;
  const SrArea area = {row->x, row->baseline - 1.125 * row->rows->small, 0.26 * row->rows->small,
                       height};
  sr_pen_round_path(row->pen, &area, 0.1 * row->rows->small);
  sr_pen_colour(row->pen, left_out ? SR_COLOUR_PAPER : SR_COLOUR_INK);
  cairo_fill_preserve(row->pen->cairo);
  sr_pen_colour(row->pen, SR_COLOUR_INK);
  cairo_set_line_width(row->pen->cairo, 0.5);
  cairo_stroke(row->pen->cairo);
  row->x += TICK * row->rows->small;
}

/// A cut with as much about it as there is room for: note, button and finger, or less.
static void
say_cut(Row* const row, const SrDrawnStroke* const stroke)
{
  if (stroke->cut == SR_DRAWN_NO_CUT) {
    return;
  }
  const bool left_out = stroke->cut == SR_DRAWN_CUT_LEFT_OUT;
  const char* const button = left_out ? "skip" : stroke->cut_button;
  char words[64];
  snprintf(words, sizeof(words), "%s %s", stroke->cut_name, button);
  const SrFont font = small_font(row, false, 0.0);
  const double room = row->right - row->x - TICK * row->rows->small;
  const double ring = ring_height(row) + BETWEEN * row->rows->small;
  const bool finger = !left_out && sr_pen_width(row->pen, &font, button) + ring <= room;
  const bool whole = sr_pen_width(row->pen, &font, words) + (finger ? ring : 0.0) <= room;
  draw_tick(row, left_out);
  say_small(row, whole ? words : button, false);
  if (finger) {
    say_finger(row, stroke->cut_finger, SR_COLOUR_SOFT_INK);
  }
}

/// What a cut leaves to the air of its note.
static double
room_for_air(const Row* const row, const SrDrawnStroke* const stroke)
{
  if (!*stroke->air_words) {
    return 0.0;
  }
  const SrFont font = small_font(row, true, 0.0);
  return fmin(sr_pen_width(row->pen, &font, stroke->air_words) + BETWEEN * row->rows->small,
              0.5 * (row->right - row->x));
}

/// The lower notes of a chord, each in a row.
static void
say_sounds(Row* const row, const SrDrawnStroke* const stroke, const double left)
{
  for (size_t i = 0; i < stroke->sound_count; ++i) {
    const SrDrawnSound* const sound = &stroke->sounds[i];
    char words[64];
    snprintf(words, sizeof(words), "%s %s", sound->name, *sound->button ? sound->button : "skip");
    row->x = left;
    row->baseline += ring_height(row) + row->rows->gap;
    if (*sound->button) {
      say_finger(row, sound->finger, SR_COLOUR_INK);
    }
    say_small(row, words, false);
  }
}

void
sr_bellows_words_say(const SrPen* const pen, const SrBellowsRows* const rows,
                     const SrDrawnStroke* const stroke, const SrWordsPlace* const place)
{
  const SrFont name = name_font(rows, place);
  const SrFont button = button_font(rows, place);
  double baseline = place->top + rows->gap + rows->name;
  sr_pen_say_pitch(pen, &name, stroke->name, stroke->octave, place->left, baseline);
  baseline += rows->gap + rows->button;
  (void)sr_pen_say_on(pen, &button, stroke->button, place->left, baseline);
  baseline += rows->gap + (SR_RING + 1.0) / 2.0 * rows->small;
  Row row = {pen, rows, place->left, place->left + place->width, baseline, place->narrow};
  say_finger(&row, stroke->finger, SR_COLOUR_INK);
  const double right = row.right;
  // Apart from the finger of the next note, which is not that of the cut
  row.right -= fmax(room_for_air(&row, stroke), 0.15 * rows->small);
  say_cut(&row, stroke);
  row.right = right;
  say_small(&row, stroke->air_words, true);
  say_sounds(&row, stroke, place->left);
}

void
sr_bellows_words_go_on(const SrPen* const pen, const SrBellowsRows* const rows,
                       const SrDrawnStroke* const stroke, const SrWordsPlace* const place)
{
  char words[32];
  snprintf(words, sizeof(words), "(%s%s)", stroke->name, stroke->octave);
  const SrFont font = button_font(rows, place);
  (void)sr_pen_say_on(pen, &font, words, place->left,
                      place->top + 2.0 * rows->gap + rows->name + rows->button);
}
