// SPDX-License-Identifier: GPL-3.0-or-later

#include "bellows_way.h"

#include "bellows_words.h"

#include <math.h>
#include <stdlib.h>

/// Most bars on a line unless the player asks for more.
#define MOST_BARS 4u

// Sizes of letters that are tried
static const double SCALES[] = {1.6,  1.45, 1.3,  1.2, 1.1,  1.05, 1.0,  0.95, 0.9,  0.85, 0.8,
                                0.75, 0.7,  0.65, 0.6, 0.55, 0.5,  0.45, 0.4,  0.35, 0.3,  0.25};
#define SCALE_COUNT (sizeof(SCALES) / sizeof(SCALES[0]))

// Shares of its height by which the bellows may grow if there is room
static const double GROWTH[] = {1.2, 1.0, 0.8, 0.6, 0.4, 0.3, 0.2, 0.1, 0.0};
#define GROWTH_COUNT (sizeof(GROWTH) / sizeof(GROWTH[0]))

double
sr_bellows_words_time(const SrDrawnPhrase* const phrase, const size_t stroke)
{
  const SrDrawnStroke* const strokes = phrase->strokes;
  const double start = strokes[stroke].start;
  double end = start + strokes[stroke].length;
  for (size_t i = 0; i < phrase->bar_count; ++i) {
    const SrDrawnBar* const bar = &phrase->bars[i];
    if (start > bar->start - 1e-9 && start < bar->start + bar->length - 1e-9) {
      end = fmax(end, bar->start + bar->length);
    }
  }
  for (size_t i = stroke + 1; i < phrase->stroke_count && strokes[i].start < end; ++i) {
    if (strokes[i].draw == strokes[stroke].draw) {
      return strokes[i].start - start;
    }
  }
  return end - start;
}

double
sr_bellows_lane(const SrBellowsSystem* const system, const SrBellowsRows* const rows,
                const bool draw)
{
  return (draw ? system->draws : system->presses) ? rows->lane : rows->empty_lane;
}

double
sr_bellows_line_height(const SrBellowsSystem* const system, const SrBellowsRows* const rows,
                       const double box, const SrDrawnPhrase* const phrase)
{
  const bool headed = system->part != SR_BELLOWS_NONE && *phrase->parts[system->part].words;
  const double heading = headed ? rows->strip : 0.0;
  return system->like != SR_BELLOWS_NONE
             ? heading + rows->strip
             : heading + rows->number + sr_bellows_lane(system, rows, true) + box +
                   sr_bellows_lane(system, rows, false);
}

double
sr_bellows_longest(const SrBellowsSystem* const systems, const size_t count)
{
  double most = 0.0;
  for (size_t i = 0; i < count; ++i) {
    if (systems[i].like == SR_BELLOWS_NONE) {
      most = fmax(most, systems[i].to - systems[i].from);
    }
  }
  return most;
}

/// The lines of a phrase with some number of bars on each.
typedef struct {
  size_t bars;
  SrRefer refer;
  SrBellowsSystem* systems;
  size_t count;
  SrPageLine* lines; ///< To share out
  size_t* firsts;
} Lines;

double
sr_bellows_words_apart(const SrBellowsRows* const rows)
{
  return fmax(1.6, 0.2 * rows->button);
}

/// The narrowest letters at a size: letters of SR_NAME_MM may be narrower than others so that a
/// line has them at all; larger ones are no gain if they are narrow.
static double
narrowest(const double scale)
{
  return scale > 1.0 + 1e-9 ? 0.8 : scale < 1.0 - 1e-9 ? 0.72 : SR_NARROWEST;
}

/// What the search needs again and again.
typedef struct {
  const SrPen* pen;
  const SrDrawnPhrase* phrase;
  const SrBellowsWish* wish;
  double* widths; ///< Of the words of each note at scale 1
  double* times;  ///< Time they have
  Lines lines[SR_REFERS * MOST_BARS];
  size_t line_count;
} Search;

/// The width of letters with which the words of nearly all notes fit; 0 if they do not.
static double
narrow_for(const Search* const search, const SrBellowsRows* const rows, const double per_time)
{
  const double apart = sr_bellows_words_apart(rows);
  const double least = narrowest(rows->scale);
  const size_t count = search->phrase->stroke_count;
  double narrow = 1.0;
  size_t fits = 0;
  for (size_t i = 0; i < count; ++i) {
    const double share =
        (search->times[i] * per_time - apart) / fmax(1e-9, search->widths[i] * rows->scale);
    if (share >= least) {
      narrow = fmin(narrow, share);
      ++fits;
    }
  }
  return (double)fits >= search->wish->fits * (double)count ? narrow : 0.0;
}

/// Whether lines of some height are within the pages.
static bool
fits_pages(const Search* const search, const Lines* const lines, const SrBellowsRows* const rows,
           const double box)
{
  for (size_t i = 0; i < lines->count; ++i) {
    lines->lines[i].height = sr_bellows_line_height(&lines->systems[i], rows, box, search->phrase);
    lines->lines[i].begins = lines->systems[i].part != SR_BELLOWS_NONE;
  }
  double left = 0.0;
  const size_t pages =
      sr_page_share(lines->lines, lines->count, &search->wish->room, lines->firsts, &left);
  return !search->wish->pages || (pages <= search->wish->pages && left >= search->wish->room.last);
}

/// The tallest bellows with which the lines stay within their pages.
static double
grown_box(const Search* const search, const Lines* const lines, const SrBellowsRows* const rows)
{
  for (size_t i = 0; search->wish->pages && i < GROWTH_COUNT; ++i) {
    const double box = rows->box * (1.0 + GROWTH[i]);
    if (fits_pages(search, lines, rows, box)) {
      return box;
    }
  }
  return rows->box;
}

/// Try one way to break; `way` is changed if it has room and is lower than `height`.
static void
try_lines(const Search* const search, const Lines* const lines, const SrBellowsRows* const rows,
          SrBellowsWay* const way, double* const height)
{
  const double per_time = (search->wish->width - SR_BELLOWS_LEFT - SR_BELLOWS_RIGHT) /
                          sr_bellows_longest(lines->systems, lines->count);
  const double narrow = narrow_for(search, rows, per_time);
  double sum = 0.0;
  for (size_t i = 0; i < lines->count; ++i) {
    sum += sr_bellows_line_height(&lines->systems[i], rows, rows->box, search->phrase);
  }
  if (narrow > 0.0 && sum < *height && fits_pages(search, lines, rows, rows->box)) {
    *height = sum;
    const SrBellowsWay found = {lines->bars, lines->refer, rows->scale, narrow,
                                grown_box(search, lines, rows)};
    *way = found;
  }
}

static bool
search_all(const Search* const search, SrBellowsWay* const way)
{
  const SrBellowsWish* const wish = search->wish;
  for (size_t s = 0; s < SCALE_COUNT; ++s) {
    if (SCALES[s] > wish->most + 1e-9 || SCALES[s] < wish->least - 1e-9) {
      continue;
    }
    SrBellowsRows rows;
    sr_bellows_rows(search->pen, search->phrase, SCALES[s], &rows);
    for (int refer = SR_REFER_REPEATS; refer < SR_REFERS; ++refer) {
      double height = (double)INFINITY;
      for (size_t i = 0; i < search->line_count; ++i) {
        if (search->lines[i].refer == (SrRefer)refer) {
          try_lines(search, &search->lines[i], &rows, way, &height);
        }
      }
      if (height < (double)INFINITY) {
        return true;
      }
    }
  }
  return false;
}

static SrStatus
break_lines(Search* const search)
{
  const size_t wished = search->wish->bars_a_line;
  const size_t ways = wished ? 1 : MOST_BARS;
  for (size_t i = 0; i < SR_REFERS * ways; ++i) {
    Lines* const lines = &search->lines[search->line_count++];
    lines->bars = wished ? wished : i / SR_REFERS + 1;
    // NOLINTNEXTLINE(clang-analyzer-unix.Malloc): freed with all lines
    lines->refer = (SrRefer)(i % SR_REFERS);
    const SrStatus status = sr_bellows_systems(search->phrase, lines->bars, lines->refer,
                                               &lines->systems, &lines->count);
    lines->lines = calloc(lines->count + 1, sizeof(SrPageLine));
    lines->firsts = calloc(lines->count + 2, sizeof(size_t));
    if (status != SR_OK || !lines->lines || !lines->firsts) {
      return SR_NO_MEMORY;
    }
  }
  return SR_OK;
}

/// Measure, break and search.
static SrStatus
search_with(Search* const search, SrBellowsWay* const way, bool* const found)
{
  SrBellowsRows rows;
  const SrStatus status = break_lines(search);
  if (status != SR_OK) {
    return status;
  }
  sr_bellows_rows(search->pen, search->phrase, 1.0, &rows);
  for (size_t i = 0; i < search->phrase->stroke_count; ++i) {
    search->widths[i] = sr_bellows_words_width(search->pen, &rows, &search->phrase->strokes[i]);
    search->times[i] = sr_bellows_words_time(search->phrase, i);
  }
  *found = search_all(search, way);
  if (!*found && !search->wish->pages) {
    sr_bellows_rows(search->pen, search->phrase, search->wish->least, &rows);
    const SrBellowsWay smallest = {search->lines[0].bars, SR_REFER_REPEATS, rows.scale,
                                   SR_NARROWEST, rows.box};
    *way = smallest;
    *found = true;
  }
  return SR_OK;
}

// NOLINTBEGIN(clang-analyzer-unix.Malloc): all lines are freed; the analyser loses the array
SrStatus
sr_bellows_way_find(const SrPen* const pen, const SrDrawnPhrase* const phrase,
                    const SrBellowsWish* const wish, SrBellowsWay* const way, bool* const found)
{
  *found = false;
  Search search = {.pen = pen,
                   .phrase = phrase,
                   .wish = wish,
                   .widths = calloc(phrase->stroke_count + 1, sizeof(double)),
                   .times = calloc(phrase->stroke_count + 1, sizeof(double))};
  const SrStatus status =
      search.widths && search.times ? search_with(&search, way, found) : SR_NO_MEMORY;
  for (size_t i = 0; i < search.line_count; ++i) {
    free(search.lines[i].systems);
    free(search.lines[i].lines);
    free(search.lines[i].firsts);
  }
  free(search.widths);
  free(search.times);
  return status;
}
// NOLINTEND(clang-analyzer-unix.Malloc)
