// SPDX-License-Identifier: GPL-3.0-or-later

// Progress over days: charts one over the other with one axis of days.

#include "pen_wrap.h"
#include "progress_layout.h"

#include <steadyreed/judge.h>
#include <steadyreed/show_progress.h>

#include <math.h>
#include <stdio.h>

/// An interval of quick notes, ms, for what is just noticeable.
#define QUICK_MS 200.0
/// Least height of the plot of offsets, against the size of letters, for all words on its axis.
#define WORDS_FROM 4.2
/// Days of the axis from which on days are said with their year.
#define DAYS_TO_YEAR 300
/// Most lines across a chart; there are fewer, unless figures are beyond all measure.
#define MOST_LINES 20.0
/// Widest bar, against the size of letters, and its share of its days.
#define BAR_MOST 1.2
#define BAR_SHARE 0.72

/// A chart where it is drawn.
typedef struct {
  const SrProgressPicture* picture;
  const SrPen* pen;
  const SrChart* chart;
  double left; ///< Corner of the picture
  double top;
  double size; ///< Of letters
} Plot;

static double
x_of(const Plot* const plot, const SrChartMark* const mark)
{
  return plot->left + mark->x;
}

static double
y_of(const Plot* const plot, const double value)
{
  return plot->top + sr_chart_y(plot->chart, value);
}

static double
plot_left(const Plot* const plot)
{
  return plot->left + plot->picture->left;
}

static double
plot_right(const Plot* const plot)
{
  return plot->left + plot->picture->right;
}

// Lines and names --------------------------------------------------------------------------------

/// Say a name on the left axis at a height.
static void
say_at(const Plot* const plot, const char* const words, const double y)
{
  SrFont font = sr_progress_font(plot->picture, SR_CHART_SMALL, false);
  font.most_width = plot->picture->left - 0.5 * plot->size;
  const double width = sr_pen_width(plot->pen, &font, words);
  const double capital = sr_pen_capital(plot->pen, false) * font.size;
  (void)sr_pen_say_on(plot->pen, &font, words, plot_left(plot) - 0.5 * plot->size - width,
                      y + capital / 2.0);
}

/// Name the axis of offsets: what is above and below its zero line.
static void
name_offsets(const Plot* const plot)
{
  const SrChart* const chart = plot->chart;
  const bool all = chart->plot >= WORDS_FROM * plot->size;
  char words[32];
  snprintf(words, sizeof(words), all ? "%.4g ms" : "±%.4g ms", chart->high);
  say_at(plot, "behind", y_of(plot, all ? chart->high / 2.0 : chart->high));
  say_at(plot, "ahead", y_of(plot, all ? chart->low / 2.0 : chart->low));
  say_at(plot, words, y_of(plot, all ? chart->high : 0.0));
  if (all) {
    say_at(plot, "0", y_of(plot, 0.0));
    say_at(plot, words, y_of(plot, chart->low));
  }
}

/// Draw the lines across, and name them.
static void
draw_lines(const Plot* const plot)
{
  const SrChart* const chart = plot->chart;
  const double steps = fmin(MOST_LINES, (chart->high - chart->low) / chart->step + 1e-6);
  for (int i = 0; i <= (int)steps; ++i) {
    const double value = chart->low + i * chart->step;
    const double y = y_of(plot, value);
    char words[32];
    sr_pen_rule(plot->pen, plot->picture->theme.shade, 0.07 * plot->size, plot_left(plot), y,
                plot_right(plot), y);
    if (chart->kind != SR_CHART_OFFSET) {
      snprintf(words, sizeof(words), "%.4g%s", value, i == (int)steps ? sr_chart_unit(chart) : "");
      say_at(plot, words, y);
    }
  }
  if (chart->kind == SR_CHART_OFFSET) {
    const double y = y_of(plot, 0.0);
    sr_pen_rule(plot->pen, plot->picture->theme.line, 0.1 * plot->size, plot_left(plot), y,
                plot_right(plot), y);
    name_offsets(plot);
  }
}

/// Draw the lines of the days that are named, and their names under the plot.
static void
draw_days(const Plot* const plot)
{
  const SrProgressPicture* const picture = plot->picture;
  const SrFont font = sr_progress_font(picture, SR_CHART_SMALL, false);
  const double top = plot->top + plot->chart->top + plot->chart->head;
  const double bottom = top + plot->chart->plot;
  for (size_t i = 0; i < picture->tick_count; ++i) {
    const SrChartTick* const tick = &picture->ticks[i];
    const double x = plot->left + tick->x;
    sr_pen_rule(plot->pen, picture->theme.shade, 0.07 * plot->size, x, top, x, bottom);
    if (plot->chart->axis && tick->named) {
      sr_pen_say(plot->pen, &font, tick->words, plot->left + tick->left, bottom + 0.5 * plot->size);
    }
  }
}

static void
draw_band(const Plot* const plot)
{
  const SrChart* const chart = plot->chart;
  const double noticeable = sr_judge_just_noticeable_ms(QUICK_MS);
  if (chart->kind == SR_CHART_SPREAD || chart->kind == SR_CHART_OFFSET) {
    const double top = y_of(plot, fmin(noticeable, chart->high));
    const double bottom = y_of(plot, fmax(-noticeable, chart->low));
    sr_pen_fill(plot->pen, plot->picture->theme.band, plot_left(plot), top,
                plot_right(plot) - plot_left(plot), bottom - top);
  }
}

/// Draw the best tempo as a dashed line with its words above it.
static void
draw_best(const Plot* const plot)
{
  const SrChart* const chart = plot->chart;
  if (chart->kind != SR_CHART_TEMPO || !isfinite(chart->best)) {
    return;
  }
  const double dashes[] = {0.45 * plot->size, 0.35 * plot->size};
  const SrFont font = sr_progress_font(plot->picture, SR_CHART_SMALL, false);
  const double y = y_of(plot, chart->best);
  char day[SR_DAY_WORDS_SIZE];
  // A day of another year needs its year
  const bool whole = plot->picture->last_day - plot->picture->first_day > DAYS_TO_YEAR;
  char words[96];
  cairo_set_dash(plot->pen->cairo, dashes, 2, 0.0);
  sr_pen_rule(plot->pen, plot->picture->theme.soft, 0.09 * plot->size, plot_left(plot), y,
              plot_right(plot), y);
  cairo_set_dash(plot->pen->cairo, NULL, 0, 0.0);
  snprintf(words, sizeof(words), "best %.0f, %s", chart->best,
           sr_show_day(chart->best_day, whole, day));
  (void)sr_pen_say_on(plot->pen, &font, words, plot_left(plot) + 0.3 * plot->size,
                      y - 0.4 * plot->size);
}

// Marks ------------------------------------------------------------------------------------------

static void
draw_bar(const Plot* const plot, const SrChartMark* const mark, const SrColour colour)
{
  const double width = fmin(BAR_MOST * plot->size, BAR_SHARE * mark->width);
  const double left = x_of(plot, mark) - width / 2.0;
  const double bottom = y_of(plot, 0.0);
  const double height = bottom - y_of(plot, mark->value);
  sr_pen_fill(plot->pen, colour, left, bottom - height, width, height);
  if (mark->more > mark->value) {
    const double line = fmin(0.09 * plot->size, 0.2 * width);
    const double top = y_of(plot, mark->more);
    sr_pen_colour(plot->pen, plot->picture->theme.plain);
    cairo_set_line_width(plot->pen->cairo, line);
    cairo_rectangle(plot->pen->cairo, left + line / 2.0, top + line / 2.0, width - line,
                    bottom - top - line);
    cairo_stroke(plot->pen->cairo);
  }
}

/// Add the shape of a mark to the path.
static void
add_shape(const Plot* const plot, const double x, const double y)
{
  cairo_t* const cairo = plot->pen->cairo;
  const double radius = sr_progress_radius(plot->picture);
  cairo_new_path(cairo);
  switch (plot->chart->kind) {
  case SR_CHART_CUTS:
    cairo_rectangle(cairo, x - 0.86 * radius, y - 0.86 * radius, 1.72 * radius, 1.72 * radius);
    break;
  case SR_CHART_SPREAD:
    cairo_move_to(cairo, x - 1.2 * radius, y);
    cairo_line_to(cairo, x, y - 1.2 * radius);
    cairo_line_to(cairo, x + 1.2 * radius, y);
    cairo_line_to(cairo, x, y + 1.2 * radius);
    cairo_close_path(cairo);
    break;
  case SR_CHART_ALONE:
    cairo_move_to(cairo, x - 1.1 * radius, y + 0.8 * radius);
    cairo_line_to(cairo, x, y - 1.1 * radius);
    cairo_line_to(cairo, x + 1.1 * radius, y + 0.8 * radius);
    cairo_close_path(cairo);
    break;
  case SR_CHART_AIR:
    cairo_arc(cairo, x, y, 0.8 * radius, 0.0, 2.0 * M_PI);
    break;
  case SR_CHART_TEMPO:
  case SR_CHART_OFFSET:
  case SR_CHART_MINUTES:
    cairo_arc(cairo, x, y, radius, 0.0, 2.0 * M_PI);
    break;
  }
}

/// Draw a mark with what belongs to it.
static void
draw_mark(const Plot* const plot, const SrChartMark* const mark, const SrColour colour)
{
  cairo_t* const cairo = plot->pen->cairo;
  const double radius = sr_progress_radius(plot->picture);
  const double x = x_of(plot, mark);
  const double y = y_of(plot, mark->value);
  const double line = fmin(0.12 * plot->size, 0.5 * radius);
  if (plot->chart->kind == SR_CHART_TEMPO && mark->more > mark->value) {
    const double cap = y_of(plot, mark->more);
    sr_pen_rule(plot->pen, colour, line, x, y, x, cap);
    sr_pen_rule(plot->pen, colour, line, x - 0.9 * radius, cap, x + 0.9 * radius, cap);
  }
  if (plot->chart->kind == SR_CHART_OFFSET) {
    sr_pen_rule(plot->pen, colour, line, x, y_of(plot, 0.0), x, y);
  }
  add_shape(plot, x, y);
  sr_pen_colour(plot->pen, colour);
  if (plot->chart->kind == SR_CHART_AIR) {
    sr_pen_colour(plot->pen, plot->picture->theme.paper);
    cairo_fill_preserve(cairo);
    sr_pen_colour(plot->pen, colour);
    cairo_set_line_width(cairo, 1.5 * line);
    cairo_stroke(cairo);
  } else {
    cairo_fill(cairo);
  }
}

/// Join the marks of days that follow each other.
static void
join_marks(const Plot* const plot)
{
  const SrChart* const chart = plot->chart;
  for (size_t i = 1; i < chart->mark_count; ++i) {
    const SrChartMark* const from = &chart->marks[i - 1];
    const SrChartMark* const to = &chart->marks[i];
    if (to->bin == from->bin + 1) {
      sr_pen_rule(plot->pen, plot->picture->theme.line, 0.1 * plot->size, x_of(plot, from),
                  y_of(plot, from->value), x_of(plot, to), y_of(plot, to->value));
    }
  }
}

static void
draw_marks(const Plot* const plot)
{
  const SrChart* const chart = plot->chart;
  const SrTheme* const theme = &plot->picture->theme;
  const bool bars = chart->kind == SR_CHART_MINUTES;
  if (!bars && chart->kind != SR_CHART_OFFSET) {
    join_marks(plot);
  }
  for (size_t i = 0; i < chart->mark_count; ++i) {
    const SrChartMark* const mark = &chart->marks[i];
    // The last one goes with the value in words
    const SrColour colour = mark->bin == chart->last_bin ? theme->draw : theme->plain;
    if (bars) {
      draw_bar(plot, mark, colour);
    } else {
      draw_mark(plot, mark, colour);
    }
  }
}

// Words ------------------------------------------------------------------------------------------

/// Say the last value on the right of the plot.
static void
say_last(const Plot* const plot)
{
  const SrChart* const chart = plot->chart;
  SrFont large = sr_progress_font(plot->picture, SR_CHART_VALUE, true);
  SrFont small = sr_progress_font(plot->picture, SR_CHART_SMALL, false);
  const double left = plot_right(plot) + 0.8 * plot->size;
  double y = plot->top + chart->top;
  large.colour = plot->picture->theme.draw;
  large.most_width = small.most_width = plot->left + plot->picture->width - left;
  sr_pen_say(plot->pen, &large, chart->value, left, y);
  y += 1.08 * large.size;
  if (chart->what[0]) {
    sr_pen_say(plot->pen, &small, chart->what, left, y);
    y += 1.25 * small.size;
  }
  sr_pen_say(plot->pen, &small, chart->when, left, y);
}

/// Say the last value on the line of the title, at its right end.
static void
say_last_above(const Plot* const plot, const double title_width, const double baseline)
{
  const SrChart* const chart = plot->chart;
  SrFont large = sr_progress_font(plot->picture, SR_CHART_TITLE, true);
  SrFont small = sr_progress_font(plot->picture, SR_CHART_SMALL, false);
  char words[128];
  large.colour = plot->picture->theme.draw;
  snprintf(words, sizeof(words), "%s%s%s", chart->what, chart->what[0] ? ", " : "", chart->when);
  const double gap = 0.35 * plot->size;
  const double value = sr_pen_width(plot->pen, &large, chart->value);
  const double room = plot->picture->right - title_width - plot->size - value - gap;
  if (sr_pen_width(plot->pen, &small, words) > room) {
    snprintf(words, sizeof(words), "%s", chart->when);
  }
  small.most_width = room;
  const double width = sr_pen_width(plot->pen, &small, words);
  const double left = plot_right(plot) - width - gap - value;
  (void)sr_pen_say_on(plot->pen, &large, chart->value, left, baseline);
  (void)sr_pen_say_on(plot->pen, &small, words, left + value + gap, baseline);
}

static void
say_head(const Plot* const plot)
{
  const SrProgressPicture* const picture = plot->picture;
  const SrFont title = sr_progress_font(picture, SR_CHART_TITLE, true);
  SrFont small = sr_progress_font(picture, SR_CHART_SMALL, false);
  const char* const name = sr_chart_title(plot->chart);
  const double baseline = plot->top + plot->chart->top + plot->size;
  const double width = sr_pen_say_on(plot->pen, &title, name, plot->left, baseline);
  if (picture->narrow) {
    const SrWrap wrap = {.font = small, .width = picture->right};
    say_last_above(plot, width, baseline);
    (void)sr_pen_wrap_say(plot->pen, &wrap, plot->chart->caption, plot->left,
                          plot->top + plot->chart->top + 1.5 * plot->size);
  } else {
    const double left = width + 0.7 * plot->size;
    small.most_width = picture->right - left;
    (void)sr_pen_say_on(plot->pen, &small, plot->chart->caption, plot->left + left, baseline);
    say_last(plot);
  }
}

void
sr_progress_draw(const SrProgressPicture* const picture, const SrPen* const pen, const double left,
                 const double top)
{
  for (size_t i = 0; i < picture->chart_count; ++i) {
    const Plot plot = {picture, pen, &picture->charts[i], left, top, picture->size};
    draw_band(&plot);
    draw_days(&plot);
    draw_lines(&plot);
    draw_best(&plot);
    draw_marks(&plot);
    say_head(&plot);
  }
  if (picture->note[0]) {
    const SrWrap wrap = {.font = sr_progress_font(picture, SR_CHART_SMALL, false),
                         .width = picture->width};
    const double height = sr_pen_wrap_height(&wrap, sr_pen_wrap_lines(pen, &wrap, picture->note));
    (void)sr_pen_wrap_say(pen, &wrap, picture->note, left, top + picture->height - height);
  }
}
