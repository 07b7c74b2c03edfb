// SPDX-License-Identifier: GPL-3.0-or-later

// The figures of days, put together to the marks of charts, and their last values in words.

#include "progress_layout.h"

#include <steadyreed/progress.h>

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Minutes from which on a chart counts hours.
#define HOURS_FROM 180.0

/// The value of a chart on a day; NAN if there is none.
static double
value_of(const SrPracticeDay* const day, const SrChartKind kind)
{
  switch (kind) {
  case SR_CHART_TEMPO:
    return sr_measure_of(day, SR_MEASURE_CLEAN_BPM);
  case SR_CHART_CUTS:
    return sr_measure_of(day, SR_MEASURE_CUTS);
  case SR_CHART_SPREAD:
    return sr_measure_of(day, SR_MEASURE_SPREAD);
  case SR_CHART_OFFSET:
    return day->offset_ms;
  case SR_CHART_ALONE:
    return sr_measure_of(day, SR_MEASURE_ALONE);
  case SR_CHART_AIR:
    return sr_measure_of(day, SR_MEASURE_AIR);
  case SR_CHART_MINUTES:
    return day->seconds / 60.0;
  }
  return (double)NAN;
}

static int
compare(const void* const a, const void* const b)
{
  const double one = *(const double*)a;
  const double other = *(const double*)b;
  return (one > other) - (one < other);
}

static double
median(double* const values, const size_t count)
{
  qsort(values, count, sizeof(double), compare);
  return count % 2 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2.0;
}

/// Make the marks of a chart; `values` has room for all days.
static void
make_marks(const SrProgressPicture* const picture, const SrPicturedProgress* const pictured,
           double* const values, SrChart* const chart)
{
  const SrPracticeDay* const days = pictured->days;
  for (size_t first = 0, next = 0; first < pictured->day_count; first = next) {
    const int bin = sr_bin_of(picture->bin, days[first].day);
    size_t count = 0;
    double most = (double)NAN;
    for (; next < pictured->day_count && sr_bin_of(picture->bin, days[next].day) == bin; ++next) {
      const double value = value_of(&days[next], chart->kind);
      if (isfinite(value)) {
        values[count++] = value;
        most = fmax(most, days[next].best_clean_bpm);
      }
    }
    if (count) {
      chart->marks[chart->mark_count++] =
          (SrChartMark){.bin = bin,
                        .value = median(values, count),
                        .more = chart->kind == SR_CHART_TEMPO ? most : (double)NAN};
    }
  }
}

/// Minutes of the days from `*next` on that lie in a bin.
static double
minutes_in(const SrProgressPicture* const picture, const SrPracticeDay* const days,
           const size_t count, const int bin, size_t* const next)
{
  double seconds = 0.0;
  for (; *next < count && sr_bin_of(picture->bin, days[*next].day) == bin; ++*next) {
    seconds += days[*next].seconds;
  }
  return seconds / 60.0;
}

/// Make the marks of the minutes, also of days on which only other phrases were played.
static void
make_minutes(const SrProgressPicture* const picture, const SrPicturedProgress* const pictured,
             SrChart* const chart)
{
  size_t own = 0;
  size_t every = 0;
  while (every < pictured->every_count && pictured->every[every].day < picture->first_day) {
    ++every;
  }
  for (;;) {
    const bool more_own = own < pictured->day_count;
    const bool more_every =
        every < pictured->every_count && pictured->every[every].day <= picture->last_day;
    if (!more_own && !more_every) {
      return;
    }
    int bin = more_own ? sr_bin_of(picture->bin, pictured->days[own].day) : INT_MAX;
    if (more_every) {
      const int other = sr_bin_of(picture->bin, pictured->every[every].day);
      bin = other < bin ? other : bin;
    }
    const double value = minutes_in(picture, pictured->days, pictured->day_count, bin, &own);
    const double all = minutes_in(picture, pictured->every, pictured->every_count, bin, &every);
    chart->marks[chart->mark_count++] =
        (SrChartMark){.bin = bin, .value = value, .more = fmax(value, all)};
  }
}

static void
use_hours(SrChart* const chart)
{
  double most = 0.0;
  for (size_t i = 0; i < chart->mark_count; ++i) {
    most = fmax(most, fmax(chart->marks[i].value, chart->marks[i].more));
  }
  chart->hours = most > HOURS_FROM;
  for (size_t i = 0; i < chart->mark_count && chart->hours; ++i) {
    chart->marks[i].value /= 60.0;
    chart->marks[i].more /= 60.0;
  }
}

static void
find_best(const SrPicturedProgress* const pictured, SrChart* const chart)
{
  chart->best = (double)NAN;
  for (size_t i = 0; i < pictured->day_count; ++i) {
    const double best = pictured->days[i].best_clean_bpm;
    if (isfinite(best) && !(best <= chart->best)) {
      chart->best = best;
      chart->best_day = pictured->days[i].day;
    }
  }
}

const char*
sr_chart_unit(const SrChart* const chart)
{
  static const char* const UNITS[SR_CHART_KIND_COUNT] = {
      [SR_CHART_TEMPO] = "",       [SR_CHART_CUTS] = " %",   [SR_CHART_SPREAD] = " ms",
      [SR_CHART_OFFSET] = " ms",   [SR_CHART_ALONE] = " ms", [SR_CHART_AIR] = " %",
      [SR_CHART_MINUTES] = " min",
  };
  return chart->hours ? " h" : UNITS[chart->kind];
}

/// What the last value is.
static const char*
what_of(const SrChart* const chart, const SrChartMark* const last)
{
  const double value = round(last->value);
  switch (chart->kind) {
  case SR_CHART_TEMPO:
    return "pulses a minute";
  case SR_CHART_CUTS:
    return "clean";
  case SR_CHART_OFFSET:
    return value < 0.0 ? "ahead of the click" : value > 0.0 ? "behind the click" : "on the click";
  case SR_CHART_ALONE:
    return "off the click";
  case SR_CHART_AIR:
    return "heard";
  case SR_CHART_MINUTES:
    return last->more > last->value ? "of this phrase" : "";
  case SR_CHART_SPREAD:
    break;
  }
  return "";
}

/// Write the last value.
static void
write_last(const SrProgressPicture* const picture, SrChart* const chart)
{
  const SrChartMark* last = &chart->marks[chart->mark_count - 1];
  // Since then others may have been played
  while (chart->kind == SR_CHART_MINUTES && last > chart->marks && last->value <= 0.0) {
    --last;
  }
  const bool tenths = chart->kind == SR_CHART_MINUTES && last->value < 9.95;
  snprintf(chart->value, sizeof(chart->value), "%.*f%s", tenths ? 1 : 0, fabs(last->value),
           sr_chart_unit(chart));
  snprintf(chart->what, sizeof(chart->what), "%s", what_of(chart, last));
  chart->last_bin = last->bin;
  (void)sr_bin_words(picture->bin, last->bin, chart->when);
}

static void
write_caption(SrChart* const chart)
{
  static const char* const CAPTIONS[SR_CHART_KIND_COUNT] = {
      [SR_CHART_TEMPO] = "dot: mean of the day's clean rounds; top: the fastest",
      [SR_CHART_CUTS] = "share of the cuts",
      [SR_CHART_SPREAD] = "how uneven the notes were; shaded: hardly noticeable",
      [SR_CHART_OFFSET] = "mean distance from the click; shaded: hardly noticeable",
      [SR_CHART_ALONE] = "how far you moved while the click was silent",
      [SR_CHART_AIR] = "heard in this share of the places for air",
      [SR_CHART_MINUTES] = "of playing",
  };
  bool other = false;
  for (size_t i = 0; i < chart->mark_count; ++i) {
    other = other || chart->marks[i].more > chart->marks[i].value + 0.05;
  }
  snprintf(chart->caption, sizeof(chart->caption), "%s%s", CAPTIONS[chart->kind],
           chart->kind == SR_CHART_MINUTES && other ? "; outlined, with all other phrases" : "");
}

const char*
sr_chart_title(const SrChart* const chart)
{
  static const char* const TITLES[SR_CHART_KIND_COUNT] = {
      [SR_CHART_TEMPO] = "Clean tempo", [SR_CHART_CUTS] = "Clean cuts",
      [SR_CHART_SPREAD] = "Spread",     [SR_CHART_OFFSET] = "Ahead or behind",
      [SR_CHART_ALONE] = "Time alone",  [SR_CHART_AIR] = "Audible air",
      [SR_CHART_MINUTES] = "Minutes",
  };
  return chart->hours ? "Hours" : TITLES[chart->kind];
}

void
sr_progress_charts_clear(SrProgressPicture* const picture)
{
  for (size_t i = 0; i < picture->chart_count; ++i) {
    free(picture->charts[i].marks);
  }
  memset(picture->charts, 0, sizeof(picture->charts));
  picture->chart_count = 0;
}

/// Make one chart, unless it would be empty.
static SrStatus
make_chart(SrProgressPicture* const picture, const SrPicturedProgress* const pictured,
           const SrChartKind kind, double* const values)
{
  SrChart chart = {.kind = kind};
  const size_t room = pictured->day_count + pictured->every_count;
  chart.marks = (SrChartMark*)calloc(room, sizeof(SrChartMark));
  if (!chart.marks) {
    return SR_NO_MEMORY;
  }
  if (kind == SR_CHART_MINUTES) {
    make_minutes(picture, pictured, &chart);
    use_hours(&chart);
  } else {
    make_marks(picture, pictured, values, &chart);
  }
  if (!chart.mark_count) {
    free(chart.marks);
    return SR_OK;
  }
  if (kind == SR_CHART_TEMPO) {
    find_best(pictured, &chart);
  }
  write_last(picture, &chart);
  write_caption(&chart);
  picture->charts[picture->chart_count++] = chart;
  return SR_OK;
}

SrStatus
sr_progress_charts(SrProgressPicture* const picture, const SrPicturedProgress* const pictured,
                   const bool minutes_first)
{
  double* const values = (double*)calloc(pictured->day_count, sizeof(double));
  SrStatus status = values ? SR_OK : SR_NO_MEMORY;
  sr_progress_charts_clear(picture);
  for (int i = 0; i < SR_CHART_KIND_COUNT && status == SR_OK; ++i) {
    const int kind = minutes_first ? (i + SR_CHART_MINUTES) % SR_CHART_KIND_COUNT : i;
    status = make_chart(picture, pictured, (SrChartKind)kind, values);
  }
  free(values);
  return status;
}
