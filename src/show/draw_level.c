// SPDX-License-Identifier: GPL-3.0-or-later

#include "draw_level.h"

#include <math.h>
#include <stdio.h>

/// Range of the curve under its largest level, dB.
#define RANGE_DB 40.0
#define TITLE 8.5
#define WORDS 7.5
#define AXIS 15.0 ///< Width of the words on the left
#define FOOT 10.0 ///< Height of the words below

/// The curve where it is drawn.
typedef struct {
  const SrPen* pen;
  const SrTheme* theme;
  const SrLevelCurve* curve;
  SrArea area;
  double top_db;
} Plot;

static double
x_of(const Plot* const plot, const double time_s)
{
  const double length = (double)plot->curve->count * SR_LEVEL_STEP_S;
  const double share = (time_s - plot->curve->start_s) / length;
  return plot->area.left + plot->area.width * fmin(1.0, fmax(0.0, share));
}

static double
y_of(const Plot* const plot, const double level_db)
{
  const double share = (plot->top_db - level_db) / RANGE_DB;
  return plot->area.top + plot->area.height * fmin(1.0, fmax(0.0, share));
}

static void
draw_upright(const Plot* const plot, const double time_s)
{
  const double x = x_of(plot, time_s);
  cairo_move_to(plot->pen->cairo, x, plot->area.top);
  cairo_line_to(plot->pen->cairo, x, plot->area.top + plot->area.height);
  cairo_stroke(plot->pen->cairo);
}

/// Shade the cut as it was heard; a dashed line where the note was due if none was.
static void
draw_cut(const Plot* const plot, const SrNoteVerdict* const note)
{
  cairo_t* const cairo = plot->pen->cairo;
  const SrCut* const cut = &note->cut;
  char words[48];
  SrFont font = {.size = WORDS, .colour = plot->theme->ink, .most_width = plot->area.width};
  const double baseline = plot->area.top + plot->area.height + 0.85 * FOOT;
  cairo_set_line_width(cairo, 1.2);
  if (!isfinite(cut->onset_s) || !isfinite(cut->length_ms)) {
    if (isfinite(note->due_s)) {
      const double dashes[] = {2.5, 2.0};
      sr_pen_colour(plot->pen, plot->theme->fault);
      cairo_set_dash(cairo, dashes, 2, 0.0);
      draw_upright(plot, note->due_s);
      cairo_set_dash(cairo, NULL, 0, 0.0);
      (void)sr_pen_say_on(plot->pen, &font, "no cut heard", plot->area.left, baseline);
    }
    return;
  }
  const double end_s = cut->onset_s + cut->length_ms / 1000.0;
  const double from = x_of(plot, cut->onset_s);
  cairo_rectangle(cairo, from, plot->area.top, x_of(plot, end_s) - from, plot->area.height);
  cairo_set_source_rgba(cairo, plot->theme->fault.red, plot->theme->fault.green,
                        plot->theme->fault.blue, 0.25);
  cairo_fill(cairo);
  sr_pen_colour(plot->pen, plot->theme->fault);
  draw_upright(plot, cut->onset_s);
  draw_upright(plot, end_s);
  snprintf(words, sizeof(words), "the cut: %.0f ms", cut->length_ms);
  const double width = sr_pen_width(plot->pen, &font, words);
  const double left = fmin(from, plot->area.left + plot->area.width - width);
  (void)sr_pen_say_on(plot->pen, &font, words, left, baseline);
}

static void
draw_grid(const Plot* const plot)
{
  cairo_t* const cairo = plot->pen->cairo;
  const SrFont font = {.size = 6.5, .colour = plot->theme->soft};
  for (int db = 0; db <= (int)RANGE_DB; db += 20) {
    const double y = y_of(plot, plot->top_db - db);
    char words[16];
    sr_pen_colour(plot->pen, plot->theme->line);
    cairo_set_line_width(cairo, 0.4);
    cairo_move_to(cairo, plot->area.left, y);
    cairo_line_to(cairo, plot->area.left + plot->area.width, y);
    cairo_stroke(cairo);
    snprintf(words, sizeof(words), db ? "−%d" : "0 dB", db);
    const double width = sr_pen_width(plot->pen, &font, words);
    (void)sr_pen_say_on(plot->pen, &font, words, plot->area.left - 2.0 - width, y + 2.2);
  }
}

static void
draw_curve(const Plot* const plot)
{
  cairo_t* const cairo = plot->pen->cairo;
  cairo_new_path(cairo);
  for (size_t i = 0; i < plot->curve->count; ++i) {
    const double time_s = plot->curve->start_s + ((double)i + 0.5) * SR_LEVEL_STEP_S;
    cairo_line_to(cairo, x_of(plot, time_s), y_of(plot, plot->curve->level_db[i]));
  }
  sr_pen_colour(plot->pen, plot->theme->ink);
  cairo_set_line_width(cairo, 1.3);
  cairo_stroke(cairo);
}

void
sr_draw_level(const SrPen* const pen, const SrTheme* const theme, const SrLevelCurve* const curve,
              const SrNoteVerdict* const note, const char* const title, const SrArea* const area)
{
  const SrFont font = {
      .size = TITLE, .bold = true, .colour = theme->ink, .most_width = area->width};
  const double head = 1.35 * TITLE;
  Plot plot = {
      pen,
      theme,
      curve,
      {area->left + AXIS, area->top + head, area->width - AXIS, area->height - head - FOOT},
      SR_LEVEL_LEAST_DB};
  for (size_t i = 0; i < curve->count; ++i) {
    plot.top_db = fmax(plot.top_db, curve->level_db[i]);
  }
  (void)sr_pen_say_on(pen, &font, title, area->left, area->top + 0.8 * TITLE);
  draw_grid(&plot);
  draw_cut(&plot, note);
  draw_curve(&plot);
}
