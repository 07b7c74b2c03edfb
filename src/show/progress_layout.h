// SPDX-License-Identifier: GPL-3.0-or-later

// Progress laid out: made by sr_progress_picture_new(), read by the drawing functions. All sizes
// follow from one, that of the letters.

#ifndef SR_SHOW_PROGRESS_LAYOUT_H
#define SR_SHOW_PROGRESS_LAYOUT_H

#include "calendar.h"
#include "theme.h"

#include <steadyreed/progress_picture.h>

/// What a chart shows, in the usual order.
typedef enum {
  SR_CHART_TEMPO,
  SR_CHART_CUTS,
  SR_CHART_SPREAD,
  SR_CHART_OFFSET,
  SR_CHART_ALONE,
  SR_CHART_AIR,
  SR_CHART_MINUTES,
} SrChartKind;

#define SR_CHART_KIND_COUNT 7

/// A mark: one day, or days that are put together.
typedef struct {
  int bin;      ///< As by sr_bin_of()
  double value; ///< In the unit of the chart
  double more;  ///< TEMPO: the fastest; MINUTES: those of all phrases; NAN for none
  double x;     ///< From the left of the picture
  double width; ///< Of its days on the axis
} SrChartMark;

/// A chart. Tops are from the top of the picture.
typedef struct {
  SrChartKind kind;
  SrChartMark* marks; ///< In order
  size_t mark_count;  ///< At least 1
  int last_bin;       ///< Of the last value
  double low;         ///< Ends of its axis, in its unit
  double high;
  double step; ///< Between two lines that are named
  bool hours;  ///< MINUTES in hours
  double best; ///< TEMPO: the fastest of all days
  int best_day;
  double top;
  double head; ///< Height of what stands above its plot
  double plot; ///< Height of its plot
  bool axis;   ///< The days are named below it
  char caption[128];
  char value[24];               ///< The last value, such as "88 %",
  char what[48];                ///< what it is, such as "clean",
  char when[SR_BIN_WORDS_SIZE]; ///< and when it was
} SrChart;

/// A day that the axis names.
typedef struct {
  double x;
  char words[SR_TICK_WORDS_SIZE];
  double left; ///< Of the words
  bool named;
} SrChartTick;

struct SrProgressPictureImpl {
  SrTheme theme;
  SrBin bin;
  int first_day;
  int last_day;
  int begun;   ///< First day practised; the axis may begin earlier
  size_t days; ///< Practised
  SrChart charts[SR_CHART_KIND_COUNT];
  size_t chart_count;
  SrChartTick* ticks;
  size_t tick_count;
  char note[160]; ///< Under all charts; "" for none
  double size;    ///< Of letters
  double left;    ///< Of the plots
  double right;   ///< End of the plots
  double width;
  double height;
  bool narrow; ///< The last values stand above the plots, not on their right
};

// Sizes against that of the letters.
#define SR_CHART_SMALL 0.84 ///< Names on axes
#define SR_CHART_TITLE 1.05
#define SR_CHART_VALUE 1.75  ///< The last value on the right
#define SR_CHART_RADIUS 0.33 ///< Of a mark
#define SR_CHART_AXIS 1.6    ///< Height of the names of days

/// Name of a chart, such as "Clean cuts".
const char* sr_chart_title(const SrChart* chart);
/// Unit of its values with a space before it, such as " ms"; "" for none.
const char* sr_chart_unit(const SrChart* chart);
/// Height of a value, from the top of the picture.
double sr_chart_y(const SrChart* chart, double value);
/// Left edge of a day, from the left of the picture.
double sr_progress_x(const SrProgressPicture* picture, int day);
/// Radius of the marks.
double sr_progress_radius(const SrProgressPicture* picture);
/// Fonts of its words.
SrFont sr_progress_font(const SrProgressPicture* picture, double size, bool strong);

// progress_charts.c

/// Put the days of each figure together. SR_NO_MEMORY without memory.
SrStatus sr_progress_charts(SrProgressPicture* picture, const SrPicturedProgress* pictured,
                            bool minutes_first);
/// Free the charts' marks.
void sr_progress_charts_clear(SrProgressPicture* picture);

// progress_layout.c

/// Lay out the charts for a height. `pen` measures. SR_NO_MEMORY without memory.
SrStatus sr_progress_layout(SrProgressPicture* picture, const SrPicturedProgress* pictured,
                            const SrProgressStyle* style, const SrPen* pen, double height);

// draw_progress.c

/// Draw it with its upper left corner at a point.
void sr_progress_draw(const SrProgressPicture* picture, const SrPen* pen, double left, double top);

#endif // SR_SHOW_PROGRESS_LAYOUT_H
