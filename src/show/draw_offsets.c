// SPDX-License-Identifier: GPL-3.0-or-later

// The strip of offsets under a line of a round: late above a zero line, early below it, and the
// just noticeable band shaded. A note clearly off the pulse has a diamond and its figure; the
// others a dot.

#include "round_layout.h"

#include <math.h>
#include <stdio.h>

/// The gap above the strip, share of its row.
#define ABOVE 0.14
/// Margin for the marks at its ends, and sizes, against that of names.
#define INSIDE 0.4
#define WORDS 0.6

/// The strip where it is drawn.
typedef struct {
  const SrRoundLine* line;
  double left;
  double right;
  double middle;
  double reach; ///< From the zero line to the largest offset
} Strip;

static double
y_of(const Strip* const strip, const double offset_ms)
{
  const double range = strip->line->picture->range_ms;
  return strip->middle - strip->reach * fmax(-1.0, fmin(1.0, offset_ms / range));
}

static void
draw_band(const Strip* const strip)
{
  const SrRoundLine* const line = strip->line;
  const SrRoundContent* const content = &line->picture->content;
  const SrBellowsSystem* const system = line->system;
  sr_pen_colour(line->pen, line->picture->theme.band);
  for (size_t i = system->first_stroke; i < system->first_stroke + system->stroke_count; ++i) {
    const SrDrawnStroke* const stroke = &content->strokes[i];
    const double band = content->notes[i].band_ms;
    const double from = fmax(stroke->start, system->from);
    const double to = fmin(system->to, stroke->start + stroke->length);
    if (isfinite(band) && to > from) {
      const double x = sr_bellows_x(&line->box, from);
      cairo_rectangle(line->pen->cairo, x, y_of(strip, band), sr_bellows_x(&line->box, to) - x,
                      y_of(strip, -band) - y_of(strip, band));
      cairo_fill(line->pen->cairo);
    }
  }
}

/// Say what is at the left.
static void
say_axis(const Strip* const strip)
{
  const SrRoundLine* const line = strip->line;
  const double size = line->picture->rows.size;
  const SrFont font = {.size = WORDS * size,
                       .colour = line->picture->theme.soft,
                       .most_width = line->picture->rows.left - 0.2 * size};
  const double capital = sr_pen_capital(line->pen, false) * font.size;
  char range[32];
  snprintf(range, sizeof(range), "%.0f ms", line->picture->range_ms);
  const char* const words[] = {"late", range, "early"};
  for (int i = 0; i < 3; ++i) {
    const double width = sr_pen_width(line->pen, &font, words[i]);
    const double y = i == 0   ? strip->middle - strip->reach
                     : i == 1 ? strip->middle - strip->reach + 1.55 * capital
                              : strip->middle + strip->reach;
    (void)sr_pen_say_on(line->pen, &font, words[i], strip->left - 0.25 * size - width,
                        y + capital / 2.0);
  }
}

/// Say the figure of an offset if there is room up to the next note.
static void
say_figure(const Strip* const strip, const size_t index, const double x, const double y)
{
  const SrRoundLine* const line = strip->line;
  const SrRoundContent* const content = &line->picture->content;
  const double size = line->picture->rows.size;
  const SrDrawnStroke* const stroke = &content->strokes[index];
  const double next = sr_bellows_x(&line->box, stroke->start + stroke->length);
  const SrFont font = {.size = WORDS * size, .bold = true, .colour = line->picture->theme.ink};
  char words[16];
  snprintf(words, sizeof(words), "%.0f", fabs(content->notes[index].offset_ms));
  const double left = x + 0.32 * size;
  if (left + sr_pen_width(line->pen, &font, words) < fmin(next + 0.2 * size, strip->right)) {
    const double capital = sr_pen_capital(line->pen, true) * font.size;
    (void)sr_pen_say_on(line->pen, &font, words, left, y + capital / 2.0);
  }
}

/// Draw the offset of a note.
static void
draw_offset(const Strip* const strip, const size_t index)
{
  const SrRoundLine* const line = strip->line;
  const SrSeenNote* const note = &line->picture->content.notes[index];
  const SrTheme* const theme = &line->picture->theme;
  const double size = line->picture->rows.size;
  cairo_t* const cairo = line->pen->cairo;
  const double start = line->picture->content.strokes[index].start;
  const double x = sr_bellows_x(&line->box, start) + 0.35 * size;
  const double y = y_of(strip, note->offset_ms);
  sr_pen_colour(line->pen, note->off_pulse ? theme->fault : theme->ink);
  cairo_set_line_width(cairo, 0.12 * size);
  cairo_move_to(cairo, x, strip->middle);
  cairo_line_to(cairo, x, y);
  cairo_stroke(cairo);
  const double radius = (note->off_pulse ? 0.26 : 0.14) * size;
  if (note->off_pulse) {
    cairo_move_to(cairo, x - radius, y);
    cairo_line_to(cairo, x, y - radius);
    cairo_line_to(cairo, x + radius, y);
    cairo_line_to(cairo, x, y + radius);
    cairo_close_path(cairo);
    cairo_fill(cairo);
    say_figure(strip, index, x, y);
  } else {
    cairo_new_sub_path(cairo);
    cairo_arc(cairo, x, y, radius, 0.0, 2.0 * M_PI);
    cairo_fill(cairo);
  }
}

void
sr_draw_offsets(const SrRoundLine* const line)
{
  const SrRoundRows* const rows = &line->picture->rows;
  const SrArea* const area = &line->box.area;
  const SrBellowsSystem* const system = line->system;
  if (rows->strip <= 0.0) {
    return;
  }
  const double top = area->top + area->height + rows->lower + ABOVE * rows->strip;
  const double height = (1.0 - ABOVE) * rows->strip;
  const Strip strip = {line, area->left, area->left + area->width, top + height / 2.0,
                       height / 2.0 - INSIDE * rows->size};
  draw_band(&strip);
  sr_pen_colour(line->pen, line->picture->theme.line);
  cairo_set_line_width(line->pen->cairo, 0.07 * rows->size);
  cairo_move_to(line->pen->cairo, strip.left, strip.middle);
  cairo_line_to(line->pen->cairo, strip.right, strip.middle);
  cairo_stroke(line->pen->cairo);
  if (rows->names) {
    say_axis(&strip);
  }
  for (size_t i = system->first_stroke; i < system->first_stroke + system->stroke_count; ++i) {
    if (isfinite(line->picture->content.notes[i].offset_ms) &&
        line->picture->content.strokes[i].start >= system->from - 1e-9) {
      draw_offset(&strip, i);
    }
  }
}
