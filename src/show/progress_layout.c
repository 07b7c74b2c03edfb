// SPDX-License-Identifier: GPL-3.0-or-later

#include "progress_layout.h"

#include "pen_wrap.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// The size of letters for a width.
#define SIZE_NARROW 12.0
#define SIZE_WIDE 17.0
#define WIDTH_NARROW 360.0
#define WIDTH_WIDE 1100.0
#define SIZE_LEAST 4.0

// Against that size.
#define NARROW 42.0     ///< Below this width the last values stand above
#define AXIS_WORDS 4.3  ///< On the left of the plots
#define LAST_WORDS 9.5  ///< On their right
#define MARK_APART 0.42 ///< Least distance of two marks
#define TICK_APART 1.0  ///< ... of the names of two days
#define HEAD 2.05       ///< Above a plot, where the caption is beside the title
#define BELOW_HEAD 0.7  ///< Between a caption below the title and the plot
#define LINE 1.5        ///< From line to line
#define PLOT_TEMPO 10.5 ///< Heights of plots
#define PLOT_OTHER 4.5  ///< ...
#define PLOT_LEAST 0.5  ///< As a share of these
#define PLOT_MOST 1.5   ///< ...
#define BETWEEN 1.3     ///< Between two charts

/// Least days of the axis.
#define LEAST_DAYS 7

/// Least length of the axis of tempo, pulses a minute, and of those of milliseconds.
#define LEAST_BPM 10.0
#define LEAST_MS 10.0

SrFont
sr_progress_font(const SrProgressPicture* const picture, const double size, const bool strong)
{
  const SrFont font = {.size = size * picture->size,
                       .bold = strong,
                       .colour = strong ? picture->theme.ink : picture->theme.soft};
  return font;
}

double
sr_progress_x(const SrProgressPicture* const picture, const int day)
{
  const double span = picture->last_day - picture->first_day + 1;
  return picture->left + (picture->right - picture->left) * (day - picture->first_day) / span;
}

double
sr_progress_radius(const SrProgressPicture* const picture)
{
  const int first = sr_bin_first_day(picture->bin, 0);
  const double days = sr_bin_first_day(picture->bin, 1) - first;
  const double width = sr_progress_x(picture, first + (int)days) - sr_progress_x(picture, first);
  return fmin(SR_CHART_RADIUS * picture->size, 0.48 * width);
}

double
sr_chart_y(const SrChart* const chart, const double value)
{
  const double share = (value - chart->low) / (chart->high - chart->low);
  return chart->top + chart->head + chart->plot * (1.0 - share);
}

// Days -------------------------------------------------------------------------------------------

static void
set_days(SrProgressPicture* const picture, const SrPicturedProgress* const pictured)
{
  const int last = pictured->days[pictured->day_count - 1].day;
  picture->days = pictured->day_count;
  picture->first_day = picture->begun = pictured->days[0].day;
  picture->last_day = pictured->last_day > last ? pictured->last_day : last;
  if (picture->last_day - picture->first_day + 1 < LEAST_DAYS) {
    picture->first_day = picture->last_day - LEAST_DAYS + 1;
  }
}

/// Put as few days together as leave room for the marks.
static void
choose_bin(SrProgressPicture* const picture)
{
  static const double DAYS[SR_BIN_COUNT] = {1.0, 7.0, 30.4, 91.3, 365.25};
  const double span = picture->last_day - picture->first_day + 1;
  const double each = (picture->right - picture->left) / span;
  int bin = 0;
  while (bin + 1 < SR_BIN_COUNT && DAYS[bin] * each < MARK_APART * picture->size) {
    ++bin;
  }
  picture->bin = (SrBin)bin;
}

static void
place_marks(SrProgressPicture* const picture)
{
  for (size_t c = 0; c < picture->chart_count; ++c) {
    for (size_t i = 0; i < picture->charts[c].mark_count; ++i) {
      SrChartMark* const mark = &picture->charts[c].marks[i];
      const int from = sr_bin_first_day(picture->bin, mark->bin);
      const int to = sr_bin_first_day(picture->bin, mark->bin + 1);
      const double left = fmax(picture->left, sr_progress_x(picture, from));
      mark->width = fmin(picture->right, sr_progress_x(picture, to)) - left;
      mark->x = left + mark->width / 2.0;
    }
  }
}

/// Fill the ticks of a step, and say whether all their names have room.
static bool
fill_ticks(SrProgressPicture* const picture, const SrPen* const pen, const SrTickStep step)
{
  const SrFont font = sr_progress_font(picture, SR_CHART_SMALL, false);
  // Marks of days lie in the middle of their day
  const double half =
      step <= SR_TICK_WEEK ? (sr_progress_x(picture, 1) - sr_progress_x(picture, 0)) / 2.0 : 0.0;
  double end = -(double)INFINITY;
  bool room = true;
  picture->tick_count = 0;
  for (int day = sr_tick_next(step, picture->first_day); day <= picture->last_day;
       day = sr_tick_next(step, day + 1)) {
    SrChartTick tick = {.x = sr_progress_x(picture, day) + half};
    const double width = sr_pen_width(pen, &font, sr_tick_words(step, day, tick.words));
    tick.left = fmin(fmax(tick.x - width / 2.0, 0.0), picture->right - width);
    // Pushed aside by less than a little, it still stands under its line
    tick.named = tick.left >= end + TICK_APART * picture->size &&
                 fabs(tick.left + width / 2.0 - tick.x) < width / 2.0;
    room = room && tick.left >= end + TICK_APART * picture->size;
    end = tick.named ? tick.left + width : end;
    picture->ticks[picture->tick_count++] = tick;
  }
  return room;
}

/// Name as many days as have room.
static SrStatus
make_ticks(SrProgressPicture* const picture, const SrPen* const pen)
{
  // A name is wider than this
  const double least = 0.5 * picture->size;
  const size_t most = (size_t)((picture->right - picture->left) / least) + 4;
  const double span = picture->last_day - picture->first_day + 1;
  static const double DAYS[SR_TICK_STEP_COUNT] = {1.0, 7.0, 28.0, 89.0, 365.0, 730.0, 1826.0};
  free(picture->ticks);
  picture->ticks = (SrChartTick*)calloc(most, sizeof(SrChartTick));
  if (!picture->ticks) {
    return SR_NO_MEMORY;
  }
  for (int step = 0; step < SR_TICK_STEP_COUNT; ++step) {
    const bool last = step + 1 == SR_TICK_STEP_COUNT;
    if (span / DAYS[step] + 2.0 < (double)most && fill_ticks(picture, pen, (SrTickStep)step)) {
      break;
    }
    picture->tick_count = last ? picture->tick_count : 0;
  }
  return SR_OK;
}

// Values -----------------------------------------------------------------------------------------

/// A step of 1, 2 or 5 times a power of ten, at least as large.
static double
nice_step(const double least)
{
  const double power = pow(10.0, floor(log10(fmax(least, 1e-3))));
  const double share = least / power;
  return power * (share <= 1.0 ? 1.0 : share <= 2.0 ? 2.0 : share <= 5.0 ? 5.0 : 10.0);
}

/// Ends of what a chart shows.
static void
find_range(const SrChart* const chart, double* const low, double* const high)
{
  *low = (double)INFINITY;
  *high = -(double)INFINITY;
  for (size_t i = 0; i < chart->mark_count; ++i) {
    const SrChartMark* const mark = &chart->marks[i];
    *low = fmin(*low, mark->value);
    *high = fmax(*high, fmax(mark->value, mark->more));
  }
}

/// Choose the ends of the axis for a plot of a height.
static void
set_axis(const SrProgressPicture* const picture, SrChart* const chart)
{
  const double lines = fmax(1.0, floor(chart->plot / (2.1 * picture->size)));
  double low;
  double high;
  find_range(chart, &low, &high);
  if (chart->kind == SR_CHART_CUTS || chart->kind == SR_CHART_AIR) {
    low = 0.0;
    high = 100.0;
    chart->step = lines >= 4.0 ? 25.0 : lines >= 2.0 ? 50.0 : 100.0;
  } else if (chart->kind == SR_CHART_TEMPO) {
    const double lack = fmax(0.0, LEAST_BPM - (high - low)) / 2.0;
    low -= lack;
    high = fmax(high, chart->best) + lack;
    // The best has its words above it
    high += 1.5 * picture->size * (high - low) / fmax(chart->plot, picture->size);
    chart->step = fmax(1.0, nice_step((high - low) / lines));
    low = chart->step * floor(low / chart->step);
  } else {
    const bool signs = chart->kind == SR_CHART_OFFSET;
    const double least = chart->kind == SR_CHART_MINUTES ? (chart->hours ? 1.0 : 5.0) : LEAST_MS;
    high = fmax(least, signs ? fmax(high, -low) : high);
    chart->step = nice_step(high / fmax(1.0, signs ? floor(lines / 2.0) : lines));
    high = chart->step * ceil(high / chart->step - 1e-9);
    low = signs ? -high : 0.0;
  }
  chart->low = low;
  chart->high = high;
}

// Heights ----------------------------------------------------------------------------------------

static double
wish_of(const SrProgressPicture* const picture, const SrChart* const chart)
{
  return picture->size * (chart->kind == SR_CHART_TEMPO ? PLOT_TEMPO : PLOT_OTHER);
}

/// Height of what stands above a plot: its title with the caption beside it, or below it.
static double
head_of(const SrProgressPicture* const picture, const SrPen* const pen, const SrChart* const chart)
{
  if (!picture->narrow) {
    return HEAD * picture->size;
  }
  const SrWrap wrap = {.font = sr_progress_font(picture, SR_CHART_SMALL, false),
                       .width = picture->right};
  return (LINE + BELOW_HEAD) * picture->size +
         sr_pen_wrap_height(&wrap, sr_pen_wrap_lines(pen, &wrap, chart->caption));
}

/// Place charts with plots of a share of their wished height. Returns the height of all.
static double
stack(SrProgressPicture* const picture, const SrPen* const pen, const double share)
{
  double y = 0.0;
  for (size_t i = 0; i < picture->chart_count; ++i) {
    SrChart* const chart = &picture->charts[i];
    const bool last = i + 1 == picture->chart_count;
    chart->top = y;
    chart->head = head_of(picture, pen, chart);
    chart->plot = share * wish_of(picture, chart);
    chart->axis = last || chart->kind == SR_CHART_TEMPO;
    y += chart->head + chart->plot + (chart->axis ? SR_CHART_AXIS * picture->size : 0.0) +
         (last ? 0.0 : BETWEEN * picture->size);
  }
  if (picture->note[0]) {
    const SrWrap wrap = {.font = sr_progress_font(picture, SR_CHART_SMALL, false),
                         .width = picture->width};
    y += 0.5 * picture->size +
         sr_pen_wrap_height(&wrap, sr_pen_wrap_lines(pen, &wrap, picture->note));
  }
  return y;
}

static void
write_note(SrProgressPicture* const picture)
{
  static const char* const NAMES[SR_BIN_COUNT] = {"", "week", "month", "quarter of a year", "year"};
  picture->note[0] = '\0';
  if (picture->bin != SR_BIN_DAY) {
    snprintf(picture->note, sizeof(picture->note),
             "Each mark is the median of the days of a %s; %s are their sum.", NAMES[picture->bin],
             "the bars of playing time");
  }
}

/// Lay out with letters of a size, in a height; whether that is enough.
static SrStatus
try_size(SrProgressPicture* const picture, const SrPicturedProgress* const pictured,
         const SrProgressStyle* const style, const SrPen* const pen, const double height,
         bool* const fits)
{
  picture->narrow = picture->width < NARROW * picture->size;
  picture->left = AXIS_WORDS * picture->size;
  picture->right = picture->width - (picture->narrow ? 0.5 : LAST_WORDS + 0.8) * picture->size;
  choose_bin(picture);
  write_note(picture);
  SrStatus status = sr_progress_charts(picture, pictured, style->minutes_first);
  if (status == SR_OK) {
    status = make_ticks(picture, pen);
  }
  if (status != SR_OK) {
    return status;
  }
  place_marks(picture);
  const double none = stack(picture, pen, 0.0);
  const double all = stack(picture, pen, 1.0);
  const double share = isfinite(height) ? (height - none) / (all - none) : 1.0;
  *fits = share >= PLOT_LEAST;
  picture->height = stack(picture, pen, fmax(PLOT_LEAST, fmin(PLOT_MOST, share)));
  for (size_t i = 0; i < picture->chart_count; ++i) {
    set_axis(picture, &picture->charts[i]);
  }
  return SR_OK;
}

SrStatus
sr_progress_layout(SrProgressPicture* const picture, const SrPicturedProgress* const pictured,
                   const SrProgressStyle* const style, const SrPen* const pen, const double height)
{
  const double share = (picture->width - WIDTH_NARROW) / (WIDTH_WIDE - WIDTH_NARROW);
  const double wish = SIZE_NARROW + (SIZE_WIDE - SIZE_NARROW) * fmax(0.0, fmin(1.0, share));
  bool fits = false;
  picture->theme = sr_theme(style->dark);
  set_days(picture, pictured);
  picture->size = style->most_size > 0.0 ? fmin(wish, style->most_size) : wish;
  for (;;) {
    const SrStatus status = try_size(picture, pictured, style, pen, height, &fits);
    if (status != SR_OK || fits || picture->size <= SIZE_LEAST) {
      return status;
    }
    picture->size = fmax(SIZE_LEAST, 0.95 * picture->size);
  }
}
